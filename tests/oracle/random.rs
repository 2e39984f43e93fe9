//! A small seeded generator of random numbers (splitmix64), the same on every platform.

pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) ^ 0x5851_f42d_4c95_7f2d)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A whole number below `n`.
    pub(crate) fn below(&mut self, n: usize) -> usize {
        let n = u64::try_from(n.max(1)).unwrap();
        usize::try_from(self.next() % n).unwrap()
    }

    /// A whole number from `least` to `most`.
    pub(crate) fn within(&mut self, least: usize, most: usize) -> usize {
        least + self.below(most - least + 1)
    }

    /// A number from `least` to `most`, of three decimals.
    pub(crate) fn number(&mut self, least: f64, most: f64) -> f64 {
        let share = f64::from(u32::try_from(self.next() >> 32).unwrap()) / f64::from(u32::MAX);
        ((least + (most - least) * share) * 1000.0).round() / 1000.0
    }

    /// True so often.
    pub(crate) fn chance(&mut self, share: f64) -> bool {
        self.number(0.0, 1.0) < share
    }

    /// One of some things.
    pub(crate) fn pick<T: Clone>(&mut self, things: &[T]) -> T {
        things[self.below(things.len())].clone()
    }

    /// A number, or nothing.
    pub(crate) fn maybe(&mut self, share: f64, least: f64, most: f64) -> Option<f64> {
        self.chance(share).then(|| self.number(least, most))
    }
}
