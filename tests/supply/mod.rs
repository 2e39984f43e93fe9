//! Supplies at their limits: limiters, diodes, fuses, devices that give up, terminals, charging.
//! Every limit from both sides, by hand.

mod checks;
mod limits;
mod source;

use farend::checks::Finding;
use farend::results::Results;
use farend::site::{self, Site};
use farend::solve::Solver;
use farend::study::Study;

/// A supply, a device `hub` and one run `W1` between them, of so many ohms each leg.
pub(crate) struct Simple {
    pub(crate) supply: String,
    pub(crate) device: String,
    pub(crate) leg: &'static str,
    pub(crate) more: String,
}

impl Simple {
    pub(crate) fn new(supply: &str, device: &str) -> Self {
        Self {
            supply: supply.to_owned(),
            device: device.to_owned(),
            leg: "resistance = \"1 ohm\"",
            more: String::new(),
        }
    }

    pub(crate) fn more(mut self, more: &str) -> Self {
        self.more += more;
        self
    }

    pub(crate) fn leg(mut self, leg: &'static str) -> Self {
        self.leg = leg;
        self
    }

    pub(crate) fn text(&self) -> String {
        format!(
            "format = 1\n[supply.psu]\nvoltage = \"24 V\"\n{}\n[device.hub]\n{}\n[run.W1]\nfrom = \"psu\"\nto = \"hub\"\n{}\n{}\n",
            self.supply, self.device, self.leg, self.more
        )
    }

    pub(crate) fn site(&self) -> Site {
        site::read(&self.text()).unwrap_or_else(|e| panic!("{e:?}\n{}", self.text()))
    }

    pub(crate) fn results(&self) -> Results {
        Results::of(&self.site(), &mut Solver::new(), None)
    }

    pub(crate) fn finding(&self, code: &str) -> Option<Finding> {
        let study = Study::of(&self.site(), &mut Solver::new());
        let all = study.findings.into_iter().map(|judged| judged.finding);
        all.into_iter().find(|finding| finding.code == code)
    }
}
