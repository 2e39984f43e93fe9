//! The worst combination of one cluster, with its relays set, in one corner: branch and bound.

use std::collections::HashMap;
use std::rc::Rc;

use crate::circuit::{Circuit, Law};
use crate::solve::{Outcome, Solver};
use crate::states::point::{Point, drawn, draws};
use crate::states::ports::{Ports, Row};
use crate::states::range::{Frame, Push, Sets};
use crate::states::span::{Span, range};

/// Differences below this, in volts or amperes and as a part of the value, count as none.
pub(super) const SAME: f64 = 1e-9;

/// How much work may still be done, in multiplications or so: a count, not a time, so that the
/// result is the same everywhere.
#[derive(Clone, Copy, Debug)]
pub(super) struct Effort {
    /// What is left; `None` is without end.
    pub(super) left: Option<u64>,
    /// Combinations solved.
    pub(super) solved: u64,
}

impl Effort {
    /// Takes the work of some steps for this many ports; false where none is left.
    pub(super) fn take(&mut self, ports: usize, steps: u64) -> bool {
        let n = ports as u64;
        let work = steps * (100 + 10 * n * n + 2 * n * n * n);
        match &mut self.left {
            None => true,
            Some(left) if *left < work => {
                *left = 0;
                false
            }
            Some(left) => {
                *left -= work;
                true
            }
        }
    }
}

/// A choice for every port.
pub(super) type Pick = Vec<usize>;

/// The best that was found, and its choices.
pub(super) type Best = Option<(f64, Pick)>;

/// Choices still open, each combination of which has an operating point in a box.
#[derive(Clone, Debug)]
struct Cell {
    sets: Sets,
    amps: Rc<Vec<Span>>,
    frame: Option<Rc<Frame>>,
}

/// What is left of a cell after a look at it.
enum Look {
    Pruned,
    Pick(Pick),
    Split(Vec<Cell>),
}

/// Cells up to this number keep their frames.
const FEW_CELLS: usize = 64;

/// The search in one circuit.
pub(super) struct Search<'a> {
    pub(super) ports: Ports,
    /// Exclusive lists by port and choice.
    pub(super) exclusive: Vec<Vec<(usize, usize)>>,
    /// The circuit with nothing drawn.
    circuit: Circuit,
    solver: &'a mut Solver,
    pub(super) effort: &'a mut Effort,
    known: HashMap<Pick, Option<Rc<Vec<f64>>>>,
    /// All choices.
    pub(super) root: Sets,
    /// What has an operating point: every combination of these, and no other.
    cells: Vec<Cell>,
    /// Whether the cells are complete.
    complete: bool,
}

impl<'a> Search<'a> {
    /// Starts a search; `exclusive` lists devices of the cluster and choices.
    pub(super) fn new(
        ports: Ports,
        exclusive: &[Vec<(usize, usize)>],
        circuit: Circuit,
        solver: &'a mut Solver,
        effort: &'a mut Effort,
    ) -> Self {
        let port = |device: usize| ports.devices.iter().position(|d| *d == device);
        let exclusive = exclusive
            .iter()
            .map(|list| {
                list.iter()
                    .filter_map(|(d, c)| Some((port(*d)?, *c)))
                    .collect()
            })
            .collect();
        let sets: Sets = ports
            .laws
            .iter()
            .map(|laws| (1_u64 << laws.len()) - 1)
            .collect();
        let mut search = Self {
            root: sets.clone(),
            cells: Vec::new(),
            complete: true,
            ports,
            exclusive,
            circuit,
            solver,
            effort,
            known: HashMap::new(),
        };
        search.part(sets);
        search
    }

    /// Finds the cells: sets of choices are split until all of their combinations have an
    /// operating point, or none has.
    fn part(&mut self, sets: Sets) {
        let mut open = vec![sets];
        while let Some(sets) = open.pop() {
            if !self.effort.take(self.ports.len(), 3) {
                self.complete = false;
                return;
            }
            if let Some(pick) = self.pick(&sets) {
                if let Some(amps) = self.amps(&pick) {
                    let point = |a: &f64| Span { low: *a, high: *a };
                    self.cells.push(Cell {
                        sets,
                        amps: Rc::new(amps.iter().map(point).collect()),
                        frame: None,
                    });
                }
            } else if let Some(amps) = self.ports.enclose(&sets) {
                self.cells.push(Cell {
                    sets,
                    amps: Rc::new(amps),
                    frame: None,
                });
            } else if !self.is_lost(&sets) {
                open.extend(self.split(&sets, |p| self.ports.open_v[p], &[]));
            }
        }
        if self.cells.len() <= FEW_CELLS {
            for cell in &mut self.cells {
                let frame = self.ports.narrow(cell.amps.to_vec(), &cell.sets);
                cell.frame = frame.map(Rc::new);
            }
        }
    }

    /// The ports.
    pub(super) fn ports(&self) -> &Ports {
        &self.ports
    }

    /// Whether every combination is known to have an operating point.
    pub(super) fn all_served(&self) -> bool {
        self.complete && self.cells.len() == 1 && self.cells[0].sets == self.root
    }

    /// Amps of every port in a combination; `None` where it has no operating point.
    pub(super) fn amps(&mut self, pick: &[usize]) -> Option<Rc<Vec<f64>>> {
        if let Some(known) = self.known.get(pick) {
            return known.clone();
        }
        self.effort.solved += 1;
        let laws = self.laws(pick);
        let found = match self.ports.point(&laws) {
            Point::At(amps) => Some(Rc::new(amps)),
            Point::None => None,
            Point::Unknown => {
                self.draw(&laws);
                self.solver.operating_point(&self.circuit).map(|solution| {
                    let loads = self.ports.devices.iter().map(|d| solution.load_a[*d]);
                    let feeds = self.circuit.feeds.iter().zip(&solution.feed_a);
                    let live = feeds.filter(|(f, _)| self.circuit.sources[f.source].live);
                    Rc::new(loads.chain(live.map(|(_, a)| *a)).collect())
                })
            }
        };
        self.known.insert(pick.to_vec(), found.clone());
        found
    }

    /// Solves the circuit itself.
    pub(super) fn solve(&mut self, laws: &[Law]) -> Outcome {
        self.draw(laws);
        self.solver.solve(&self.circuit)
    }

    /// Puts laws on the devices of the circuit itself.
    fn draw(&mut self, laws: &[Law]) {
        for (port, device) in self.ports.devices.iter().enumerate() {
            self.circuit.loads[*device].law = laws[port];
        }
    }

    pub(super) fn laws(&self, pick: &[usize]) -> Vec<Law> {
        let of = |(port, choice): (usize, &usize)| self.ports.laws[port][*choice];
        let loads = pick.iter().enumerate().map(of);
        let feeds = self.ports.fed.iter().map(|_| Law::Off);
        loads.chain(feeds).collect()
    }

    /// Picks to begin with: what draws most, and every device's first and last choice.
    pub(super) fn starts(&self) -> Vec<Pick> {
        let loads = 0..self.ports.devices.len();
        let by = |choose: &dyn Fn(usize) -> usize| loads.clone().map(choose).collect::<Pick>();
        let most = |port: usize| {
            let at = self.ports.open_v[port];
            let laws = self.ports.laws[port].iter().enumerate();
            laws.max_by(|a, b| drawn(*a.1, at).0.total_cmp(&drawn(*b.1, at).0))
                .map_or(0, |(c, _)| c)
        };
        let mut starts = vec![by(&most), by(&|_| 0), by(&|p| self.ports.laws[p].len() - 1)];
        starts.retain(|pick| {
            self.exclusive.iter().all(|list| {
                let mut chosen = list.iter().filter(|(p, c)| pick[*p] == *c).map(|(p, _)| *p);
                let first = chosen.next();
                chosen.all(|p| Some(p) == first)
            })
        });
        starts.dedup();
        starts
    }

    /// Raises `best` to the most that a row can be; false where work ran out before that was
    /// certain. `drawing`: only where that port draws. `sign`: the sign of what an ampere more at
    /// any port does to the row, where that is known.
    pub(super) fn maximize(
        &mut self,
        row: &Row,
        drawing: Option<usize>,
        sign: Option<f64>,
        best: &mut Best,
    ) -> bool {
        let allowed = drawing.map(|port| {
            let laws = self.ports.laws[port].iter().enumerate();
            let drawn = laws
                .filter(|(_, law)| draws(**law))
                .fold(0, |set, (c, _)| set | 1 << c);
            (port, drawn)
        });
        let mut order: Vec<(f64, usize)> = self
            .cells
            .iter()
            .enumerate()
            .filter(|(_, cell)| allowed.is_none_or(|(port, set)| cell.sets[port] & set != 0))
            .map(|(i, cell)| (range(row, &cell.amps).high, i))
            .collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (most, i) in order {
            if is_no_better(most, best) {
                break;
            }
            let mut cell = self.cells[i].clone();
            if let Some((port, set)) = allowed {
                cell.sets[port] &= set;
            }
            if !self.within(cell, row, sign, best) {
                return false;
            }
        }
        self.complete
    }

    /// Raises `best` to the most that a row can be within a cell.
    fn within(&mut self, cell: Cell, row: &Row, sign: Option<f64>, best: &mut Best) -> bool {
        let mut open = vec![cell];
        while let Some(cell) = open.pop() {
            if !self.effort.take(self.ports.len(), 1) {
                return false;
            }
            match self.look(cell, row, sign, best) {
                Look::Pruned => {}
                Look::Split(cells) => open.extend(cells),
                Look::Pick(pick) => {
                    if let Some(amps) = self.amps(&pick) {
                        let value = row.at(&amps);
                        if best.as_ref().is_none_or(|b| value > b.0) {
                            *best = Some((value, pick));
                        }
                    }
                }
            }
        }
        true
    }

    /// Looks at a cell: what cannot be better than the best is left out, what is best whatever
    /// the rest does is chosen, and the rest is split.
    fn look(&mut self, mut cell: Cell, row: &Row, sign: Option<f64>, best: &Best) -> Look {
        if is_no_better(range(row, &cell.amps).high, best) {
            return Look::Pruned;
        }
        let mut pushes = Vec::new();
        while self.pick(&cell.sets).is_none() {
            if cell.frame.is_none() {
                self.effort.take(self.ports.len(), 3);
                let frame = self.ports.narrow(cell.amps.to_vec(), &cell.sets);
                cell.frame = frame.map(Rc::new);
            }
            let Some(frame) = cell.frame.clone() else {
                break;
            };
            if is_no_better(self.ports.most(&frame, &cell.sets, row), best) {
                return Look::Pruned;
            }
            pushes = match sign {
                Some(by) => vec![Push { by, error: 0.0 }; self.ports.len()],
                None => self.ports.pushes(&frame, row),
            };
            if !self.choose(&mut cell.sets, &frame, &pushes) {
                break;
            }
            // Often that is enough, and much cheaper than a narrower box.
            if is_no_better(self.ports.most(&frame, &cell.sets, row), best) {
                return Look::Pruned;
            }
            cell.amps = Rc::new(frame.amps.clone());
            cell.frame = None;
        }
        if let Some(pick) = self.pick(&cell.sets) {
            return Look::Pick(pick);
        }
        let volts = |port: usize| match &cell.frame {
            Some(frame) => f64::midpoint(frame.volts[port].low, frame.volts[port].high),
            None => self.ports.open_v[port],
        };
        let amps = cell
            .frame
            .as_ref()
            .map_or(cell.amps.clone(), |f| Rc::new(f.amps.clone()));
        let sets = self.split(&cell.sets, volts, &pushes);
        let cells = sets.into_iter().map(|sets| Cell {
            sets,
            amps: amps.clone(),
            frame: None,
        });
        Look::Split(cells.collect())
    }
}

/// Whether a bound leaves nothing better than the best.
fn is_no_better(most: f64, best: &Best) -> bool {
    best.as_ref()
        .is_some_and(|(best, _)| most <= best + SAME * (1.0 + best.abs()))
}
