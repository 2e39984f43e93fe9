//! Falling convex functions of straight pieces: the least cost for the volts that may be lost,
//! where any mixture of two choices may be had. They bound the cost of real choices from below.

/// A function that is infinite up to its start, then falls ever less steeply, then stays.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Convex {
    /// Where it starts.
    pub(crate) x: f64,
    /// Its value there.
    pub(crate) y: f64,
    /// Width and fall of each piece, steepest first.
    pieces: Vec<(f64, f64)>,
}

impl Convex {
    /// Stays at a value from a start on.
    pub(crate) fn flat(x: f64, y: f64) -> Self {
        Self {
            x,
            y,
            pieces: Vec::new(),
        }
    }

    /// The lower hull of points, each of which may be had from its x on.
    pub(crate) fn hull(mut points: Vec<(f64, f64)>) -> Option<Self> {
        points.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        let (x, y) = *points.first()?;
        let mut hull: Vec<(f64, f64)> = Vec::with_capacity(points.len());
        for point in points {
            if hull.last().is_some_and(|last| point.1 >= last.1) {
                continue;
            }
            while let [.., a, b] = hull[..] {
                // b stays only where it lies under the line from a to the point.
                let under = (b.1 - a.1) * (point.0 - a.0) < (point.1 - a.1) * (b.0 - a.0);
                if under {
                    break;
                }
                hull.pop();
            }
            hull.push(point);
        }
        let pieces = hull.windows(2).map(|w| (w[1].0 - w[0].0, w[0].1 - w[1].1));
        Some(Self {
            x,
            y,
            pieces: pieces.filter(|p| p.0 > 0.0).collect(),
        })
    }

    /// Width and fall of each piece, steepest first.
    pub(crate) fn pieces(&self) -> &[(f64, f64)] {
        &self.pieces
    }

    /// The value somewhere.
    pub(crate) fn at(&self, x: f64) -> f64 {
        if x < self.x {
            return f64::INFINITY;
        }
        let (mut from, mut y) = (self.x, self.y);
        for (width, fall) in &self.pieces {
            if from + width >= x {
                return y - fall * (x - from) / width;
            }
            from += width;
            y -= fall;
        }
        y
    }

    /// Least of this plus the other where their x add up: one after the other along a way.
    pub(crate) fn after(&self, other: &Self) -> Self {
        let mut pieces = Vec::with_capacity(self.pieces.len() + other.pieces.len());
        let (mut a, mut b) = (
            self.pieces.iter().peekable(),
            other.pieces.iter().peekable(),
        );
        while let (Some(p), Some(q)) = (a.peek(), b.peek()) {
            let first = p.1 * q.0 >= q.1 * p.0;
            pieces.extend(if first { a.next() } else { b.next() });
        }
        pieces.extend(a);
        pieces.extend(b);
        Self {
            x: self.x + other.x,
            y: self.y + other.y,
            pieces,
        }
    }

    /// Both at the same x: side by side.
    pub(crate) fn beside(&self, other: &Self) -> Self {
        let x = self.x.max(other.x);
        let (a, b) = (self.from(x), other.from(x));
        let mut pieces = Vec::with_capacity(a.len() + b.len());
        let (mut a, mut b) = (a.into_iter(), b.into_iter());
        let (mut p, mut q) = (a.next(), b.next());
        loop {
            match (p, q) {
                (Some(left), Some(right)) => {
                    let width = left.0.min(right.0);
                    let fall = width * (left.1 / left.0 + right.1 / right.0);
                    pieces.push((width, fall));
                    p = rest(left, width).or_else(|| a.next());
                    q = rest(right, width).or_else(|| b.next());
                }
                (Some(piece), None) => {
                    pieces.push(piece);
                    p = a.next();
                }
                (None, Some(piece)) => {
                    pieces.push(piece);
                    q = b.next();
                }
                (None, None) => break,
            }
        }
        Self {
            x,
            y: self.at(x) + other.at(x),
            pieces,
        }
    }

    /// The greater of this and a floor.
    pub(crate) fn no_less(&self, floor: f64) -> Self {
        let mut spare = self.y - floor;
        if spare <= 0.0 {
            return Self::flat(self.x, floor);
        }
        let mut pieces = Vec::with_capacity(self.pieces.len());
        for (width, fall) in &self.pieces {
            if *fall < spare {
                pieces.push((*width, *fall));
                spare -= fall;
            } else {
                pieces.push((width * spare / fall, spare));
                break;
            }
        }
        Self {
            x: self.x,
            y: self.y,
            pieces,
        }
    }

    /// Between which volts both of [`Convex::against`] come to no more than some cost.
    pub(crate) fn within(&self, beside: &Self, most: f64) -> Option<(f64, f64)> {
        let both = self.against(beside)?;
        let fall: f64 = both.pieces.iter().map(|p| p.1).sum();
        if both.y - fall > most {
            return None;
        }
        let width: f64 = both.pieces.iter().map(|p| p.0).sum();
        let best = -(both.x + width);
        let sum = |v: f64| self.at(-v) + beside.at(v);
        Some((
            edge(best, beside.x, |v| sum(v) <= most),
            edge(best, -self.x, |v| sum(v) <= most),
        ))
    }

    /// The pieces from an x on.
    fn from(&self, x: f64) -> Vec<(f64, f64)> {
        let mut skip = x - self.x;
        let mut pieces = Vec::with_capacity(self.pieces.len());
        for (width, fall) in &self.pieces {
            if skip >= *width {
                skip -= width;
            } else if skip > 0.0 {
                pieces.push((width - skip, fall * (width - skip) / width));
                skip = 0.0;
            } else {
                pieces.push((*width, *fall));
            }
        }
        pieces
    }

    /// Least cost of all else when a node keeps at least some volts: of this, which falls as the
    /// node is given less (its x is minus the volts), and of what stands beside, which falls as
    /// the node has more. `None` where both cannot be.
    pub(crate) fn against(&self, beside: &Self) -> Option<Self> {
        let most = -self.x;
        if beside.x > most {
            return None;
        }
        // What stands beside, walked from `most` down to its start: rises ever more steeply.
        let mut end = beside.x;
        let mut rises: Vec<(f64, f64)> = Vec::new();
        for (width, fall) in &beside.pieces {
            let seen = width.min(most - end);
            if seen <= 0.0 {
                break;
            }
            rises.push((seen, fall * seen / width));
            end += seen;
        }
        rises.push(((most - end).max(0.0), 0.0));
        let mut rises = rises.into_iter().rev().filter(|r| r.0 > 0.0);
        let mut falls = self.pieces.iter().copied();
        let mut pieces = Vec::new();
        let (mut fall, mut rise) = (falls.next(), rises.next());
        while let (Some(down), Some(up)) = (fall, rise) {
            let width = down.0.min(up.0);
            let net = width * (down.1 / down.0 - up.1 / up.0);
            if net <= 0.0 {
                break;
            }
            pieces.push((width, net));
            fall = rest(down, width).or_else(|| falls.next());
            rise = rest(up, width).or_else(|| rises.next());
        }
        Some(Self {
            x: self.x,
            y: self.y + beside.at(most),
            pieces,
        })
    }
}

/// How far from a good place towards another it may be good: a little further than it is.
fn edge(good: f64, bad: f64, is_good: impl Fn(f64) -> bool) -> f64 {
    if is_good(bad) {
        return bad;
    }
    let (mut good, mut bad) = (good, bad);
    for _ in 0..30 {
        let middle = 0.5 * (good + bad);
        *if is_good(middle) { &mut good } else { &mut bad } = middle;
    }
    bad
}

/// The same function by its corners, to be looked up often.
#[derive(Clone, Debug)]
pub(crate) struct Polyline {
    corners: Vec<(f64, f64)>,
}

impl Polyline {
    pub(crate) fn of(convex: &Convex) -> Self {
        let mut at = (convex.x, convex.y);
        let mut corners = Vec::with_capacity(convex.pieces.len() + 1);
        corners.push(at);
        for (width, fall) in &convex.pieces {
            at = (at.0 + width, at.1 - fall);
            corners.push(at);
        }
        Self { corners }
    }

    /// The value somewhere; infinite before the start.
    pub(crate) fn at(&self, x: f64) -> f64 {
        match self.corners.partition_point(|c| c.0 <= x) {
            0 => f64::INFINITY,
            i if i == self.corners.len() => self.corners[i - 1].1,
            i => {
                let (a, b) = (self.corners[i - 1], self.corners[i]);
                a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
            }
        }
    }
}

/// What is left of a piece behind some of its width.
fn rest((width, fall): (f64, f64), used: f64) -> Option<(f64, f64)> {
    (used < width).then(|| (width - used, fall * (width - used) / width))
}
