//! Sets of things that are joined to one another, directly or through others.

/// A partition of `0..n` in which parts only ever merge.
#[derive(Clone, Debug, Default)]
pub struct Joined {
    parent: Vec<u32>,
}

impl Joined {
    /// `n` things, each on its own.
    pub fn apart(n: usize) -> Self {
        Self {
            parent: (0..u32::try_from(n).unwrap_or(u32::MAX)).collect(),
        }
    }

    /// Adds one thing, on its own.
    pub fn add(&mut self) -> u32 {
        let id = u32::try_from(self.parent.len()).unwrap_or(u32::MAX);
        self.parent.push(id);
        id
    }

    /// How many things there are.
    pub fn len(&self) -> usize {
        self.parent.len()
    }

    /// Whether there is nothing.
    pub fn is_empty(&self) -> bool {
        self.parent.is_empty()
    }

    /// The smallest thing that `i` is joined to.
    pub fn root(&mut self, mut i: u32) -> u32 {
        while self.parent[i as usize] != i {
            self.parent[i as usize] = self.parent[self.parent[i as usize] as usize];
            i = self.parent[i as usize];
        }
        i
    }

    /// Joins two things.
    pub fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.root(a), self.root(b));
        self.parent[a.max(b) as usize] = a.min(b);
    }

    /// The root of everything, in order.
    pub fn roots(&mut self) -> Vec<u32> {
        (0..self.parent.len())
            .map(|i| self.root(u32::try_from(i).unwrap_or(u32::MAX)))
            .collect()
    }
}
