//! The worst of a cluster by search.

use std::rc::Rc;

use crate::solve::Solver;
use crate::states::cluster::Wired;
use crate::states::found::{At, Found, HEAVY, HIGH, LOW, Searched, Spot, put};
use crate::states::hunt::Hunt;
use crate::states::point::draws;
use crate::states::ports::{Ports, Row};
use crate::states::search::{Best, Effort, Pick, Search};

impl Hunt<'_> {
    /// The worst by search.
    pub(super) fn ports(
        &self,
        wired: &Wired,
        way: usize,
        least: &mut f64,
        found: &mut Searched,
        (solver, effort): (&mut Solver, &mut Effort),
    ) {
        // Without a tolerance of the draws heavy and high are one.
        let one = self.site.design.draw_tolerance.value == 0.0;
        let corners: &[&[At]] = if one {
            &[&[LOW], &[HEAVY, HIGH]]
        } else {
            &[&[LOW], &[HEAVY], &[HIGH]]
        };
        for list in corners {
            let circuit = &wired.circuits[list[0]];
            let Some(ports) = Ports::of(circuit, &self.laws(wired, list[0]), solver) else {
                found.proven = false;
                self.try_some(wired, way, found, solver, effort);
                return;
            };
            let exclusive = &self.cluster.exclusive;
            let mut search = Search::new(ports, exclusive, circuit.clone(), solver, effort);
            for at in *list {
                self.corner(&mut search, (way, *at), found);
            }
            self.short(&mut search, (way, list[0]), least, found);
        }
    }

    /// A pick of ports as a spot of the cluster: devices that no supply reaches are idle.
    fn spot(&self, ports: &Ports, way: usize, pick: &[usize]) -> Rc<Spot> {
        let mut choice = self.rest();
        for (port, device) in ports.devices.iter().enumerate() {
            choice[*device] = pick[port];
        }
        Rc::new(Spot { way, choice })
    }

    /// Everything asked of one corner.
    fn corner(&self, search: &mut Search<'_>, (way, at): (usize, At), found: &mut Searched) {
        let ports = search.ports().clone();
        for usual in [self.rest(), self.off()] {
            let pick: Pick = ports.devices.iter().map(|d| usual[*d]).collect();
            let spot = self.spot(&ports, way, &pick);
            let open = found.usual[at].is_none() && self.allows(&spot.choice);
            if open && search.amps(&pick).is_some() {
                found.usual[at] = Some(spot);
            }
        }
        let asks = Asks {
            hunt: self,
            starts: search.starts(),
            way,
            at,
        };
        if at != HEAVY {
            for (port, device) in ports.devices.iter().enumerate() {
                let (sign, best) = if at == LOW {
                    (-1.0, &mut found.least[*device])
                } else {
                    (1.0, &mut found.most[*device])
                };
                let row = ports.volts(port).times(sign);
                found.proven &= asks.hunt(search, &row, Some(port), sign, best);
            }
        }
        if at != HIGH {
            for (source, row) in ports.sources.iter().enumerate() {
                let best = &mut found.sources[at][source];
                found.proven &= asks.hunt(search, row, None, 1.0, best);
            }
            self.branches(search, &asks, found);
        }
        if found.usual[at].is_none() {
            let mut some = [
                &found.least,
                &found.most,
                &found.branches,
                &found.sources[at],
            ]
            .into_iter()
            .flatten()
            .flatten();
            found.usual[at] = some.find(|f| f.at == at).map(|f| Rc::clone(&f.spot));
        }
    }

    /// Magnitudes of the branches; those whose amps are the same but for the sign at once.
    fn branches(&self, search: &mut Search<'_>, asks: &Asks<'_>, found: &mut Searched) {
        let mut groups: Vec<(Row, Vec<usize>)> = Vec::new();
        for branch in self.watched() {
            let row = clean(&search.ports().branches[branch]);
            match groups.iter_mut().find(|(other, _)| *other == row) {
                Some((_, members)) => members.push(branch),
                None => groups.push((row, vec![branch])),
            }
        }
        for (row, members) in groups {
            // With the relays otherwise, or in another corner, they need not be the same.
            let value = |b: &usize| {
                found.branches[*b]
                    .as_ref()
                    .map_or(f64::NEG_INFINITY, |f| f.value)
            };
            let behind = members.iter().min_by(|a, b| value(a).total_cmp(&value(b)));
            let mut best = behind.and_then(|b| found.branches[*b].clone());
            for row in [row.clone(), row.times(-1.0)] {
                found.proven &= asks.hunt(search, &row, None, 1.0, &mut best);
            }
            let Some(best) = best else { continue };
            for branch in members {
                put(
                    &mut found.branches[branch],
                    best.value,
                    1.0,
                    best.at,
                    &best.spot,
                );
            }
        }
    }

    /// The combination that is served least.
    fn short(
        &self,
        search: &mut Search<'_>,
        (way, at): (usize, At),
        least: &mut f64,
        found: &mut Searched,
    ) {
        let mut pick = None;
        found.proven &= search.least_served(least, &mut pick);
        if let Some(pick) = pick {
            found.unserved = Some(Found {
                value: *least,
                at,
                spot: self.spot(search.ports(), way, &pick),
            });
        }
    }
}

/// What is asked of one corner, with its relays set.
struct Asks<'a> {
    hunt: &'a Hunt<'a>,
    /// Combinations to begin with.
    starts: Vec<Pick>,
    way: usize,
    at: At,
}

impl Asks<'_> {
    /// Looks for something worse than the best so far in one row; true where that is certain.
    /// `sign`: 1 where the row is the value itself, -1 where it is its negative.
    fn hunt(
        &self,
        search: &mut Search<'_>,
        row: &Row,
        drawing: Option<usize>,
        sign: f64,
        best: &mut Option<Found>,
    ) -> bool {
        let before = best.as_ref().map(|b| b.value * sign);
        let mut now: Best = before.map(|value| (value, Pick::new()));
        for pick in &self.starts {
            let counts = |port: usize| draws(search.ports().laws[port][pick[port]]);
            if drawing.is_none_or(counts)
                && let Some(amps) = search.amps(pick)
            {
                let value = row.at(&amps);
                if now.as_ref().is_none_or(|n| value > n.0) {
                    now = Some((value, pick.clone()));
                }
            }
        }
        // Where an ampere more takes volts from all, it lowers volts and raises their negative.
        let falls = drawing.is_some() && search.ports().is_monotone();
        let certain = search.maximize(row, drawing, falls.then_some(-sign), &mut now);
        if let Some((value, pick)) = now
            && before.is_none_or(|before| value > before)
        {
            *best = Some(Found {
                value: value * sign,
                at: self.at,
                spot: self.hunt.spot(search.ports(), self.way, &pick),
            });
        }
        certain
    }
}

/// A row without rounding, the first of its numbers not negative: legs of one run then have the
/// same.
fn clean(row: &Row) -> Row {
    let size = row
        .by
        .iter()
        .fold(row.base.abs(), |most, b| b.abs().max(most));
    let unit = 1e-9 * size.max(1e-3);
    let round = |x: f64| (x / unit).round() * unit;
    let clean = Row {
        base: round(row.base),
        by: row.by.iter().map(|b| round(*b)).collect(),
    };
    let first = clean.by.iter().chain([&clean.base]).find(|x| **x != 0.0);
    let turned = first.is_some_and(|x| *x < 0.0);
    if turned { clean.times(-1.0) } else { clean }
}
