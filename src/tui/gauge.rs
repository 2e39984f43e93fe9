//! The next thinner or thicker cable of a run.

use crate::site::{Edit, End, Thing};
use crate::tui::pages::Page;
use crate::tui::state::State;
use crate::units::{Area, Measure as _, Size, read_size};

/// Cables that the keys for thinner and thicker step through.
const GAUGES: [&str; 9] = ["24", "22", "20", "18", "16", "14", "12", "10", "8"];
const SQUARES: [&str; 8] = ["0.5", "0.75", "1", "1.5", "2.5", "4", "6", "10"];

impl State {
    /// The selected run in the next thinner or thicker cable.
    pub(crate) fn gauge(&mut self, by: isize) {
        let run = match self.thing() {
            _ if self.shows == Page::Sizes => self.open_runs().get(self.sizes.selected).copied(),
            Some(Thing::Run(i)) => Some(i),
            Some(Thing::Device(i)) => self.run_towards(End::Device(i)),
            Some(Thing::Junction(i)) => self.run_towards(End::Junction(i)),
            _ => None,
        };
        let Some((i, cable)) = run.and_then(|i| Some((i, self.site().runs[i].cable(self.site())?)))
        else {
            self.message = "select a run, or what it leads to".into();
            return;
        };
        let (ladder, suffix): (&[&str], &str) = match cable.size {
            Size::Awg(_) => (&GAUGES, ""),
            Size::Mm2(_) => (&SQUARES, "mm2"),
        };
        let area = cable.size.area();
        let rung = |text: &&&str| {
            let unit = if suffix.is_empty() { " AWG" } else { " mm2" };
            read_size(&format!("{text}{unit}")).ok().map(Size::area)
        };
        let next = if by > 0 {
            ladder
                .iter()
                .find(|t| rung(t).is_some_and(|a| a > area * 1.001))
        } else {
            ladder
                .iter()
                .rev()
                .find(|t| rung(t).is_some_and(|a| a * 1.001 < area))
        };
        let built_in = next.and_then(|gauge| {
            let name = format!("{gauge}{suffix}/{}", cable.conductors);
            Some((rung(&gauge)?, name))
        });
        // A cable of the site's own has a price and a rating: of one size it comes first.
        let site = self.site();
        let own = site.cables[..site.own_cables].iter().filter(|own| {
            let ratio = own.size.area().base() / area.base();
            let beyond = if by > 0 { ratio > 1.001 } else { ratio < 0.999 };
            own.elements.is_empty() && own.conductors == cable.conductors && beyond
        });
        let own = own.map(|own| (own.size.area(), own.name.clone()));
        let off = |there: Area| ((there.base() / area.base()).ln().abs() * 1e3).round();
        let nearest = own
            .chain(built_in)
            .min_by(|(a, _), (b, _)| off(*a).total_cmp(&off(*b)));
        let Some((_, name)) = nearest else {
            self.message = "no cable beyond this one".into();
            return;
        };
        let edit = Edit::set("run", &self.site().runs[i].name, "cable", &name);
        self.apply(std::slice::from_ref(&edit), &edit.describe());
    }

    fn run_towards(&self, end: End) -> Option<usize> {
        self.study.results.ways.towards(end)?.0
    }
}
