//! Corners and cases: which values a solve takes.

use crate::site::{Case, Run, Site, Supply, Temperatures};
use crate::units::{Draw, ElectricPotential, Ratio, ThermodynamicTemperature};

/// One of the four corners in which every case is solved.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Corner {
    /// Everything as written: for the meter and the class.
    Nominal,
    /// Least volts: supply low, conductors hot, draws high.
    Low,
    /// Most volts: supply high, conductors cold, draws low.
    High,
    /// Most amps: supply high, conductors cold, draws high.
    Heavy,
}

impl Corner {
    /// All corners, in the order in which they are printed.
    pub const ALL: [Self; 4] = [Self::Nominal, Self::Low, Self::High, Self::Heavy];

    /// The corner's name.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::Nominal => "nominal",
            Self::Low => "low",
            Self::High => "high",
            Self::Heavy => "heavy",
        }
    }

    /// Volts of a supply without load.
    pub fn volts(self, supply: &Supply) -> ElectricPotential {
        let tolerance = supply.tolerance.map_or(0.0, |t| t.value);
        match self {
            Self::Nominal => supply.voltage,
            Self::Low => supply.lowest.unwrap_or(supply.voltage * (1.0 - tolerance)),
            Self::High | Self::Heavy => {
                supply.highest.unwrap_or(supply.voltage * (1.0 + tolerance))
            }
        }
    }

    /// Factor on draws.
    pub fn draw_factor(self, tolerance: Ratio) -> f64 {
        match self {
            Self::Nominal => 1.0,
            Self::Low | Self::Heavy => 1.0 + tolerance.value,
            Self::High => 1.0 - tolerance.value,
        }
    }

    fn pick(self, temperatures: &Temperatures) -> Option<ThermodynamicTemperature> {
        match self {
            Self::Nominal => temperatures.nominal,
            Self::Low => temperatures.hot,
            Self::High | Self::Heavy => temperatures.cold,
        }
    }

    /// Conductor temperature of a run: the case's, else the run's own, its route's, the design's.
    pub fn temperature(self, site: &Site, run: &Run, case: &Case) -> ThermodynamicTemperature {
        let route = run.route.map(|r| &site.design.routes[r as usize]);
        case.temperature
            .or_else(|| self.pick(&run.temperatures))
            .or_else(|| route.and_then(|t| self.pick(t)))
            .or_else(|| self.pick(&site.design.temperatures))
            .unwrap_or_default()
    }
}

/// Most devices whose inrush makes default cases of their own.
const MOST_INRUSHES: usize = 50;

/// The cases of a site: the named ones, else `all idle`, `all active` and one for each inrush.
pub fn cases(site: &Site) -> Vec<Case> {
    if !site.cases.is_empty() {
        return site.cases.clone();
    }
    let case = |name: String, states: Vec<(usize, String)>| Case {
        name,
        states,
        relays: Vec::new(),
        broken: Vec::new(),
        fitted: Vec::new(),
        temperature: None,
    };
    let active = || (0..site.devices.len()).map(|i| (i, "active".to_owned()));
    let mut cases = vec![
        case("all idle".into(), Vec::new()),
        case("all active".into(), active().collect()),
    ];
    let states_inrush = |i: &usize| {
        site.devices[*i]
            .draw
            .iter()
            .any(|(state, _)| state == "inrush")
    };
    let inrushes: Vec<usize> = (0..site.devices.len()).filter(states_inrush).collect();
    if inrushes.len() <= MOST_INRUSHES {
        for i in inrushes {
            let mut states: Vec<_> = active().collect();
            states[i].1 = "inrush".into();
            cases.push(case(format!("{} inrush", site.devices[i].name), states));
        }
    }
    cases
}

/// The state of each device in a case, in file order.
pub fn states<'c>(site: &Site, case: &'c Case) -> Vec<&'c str> {
    let mut states = vec!["idle"; site.devices.len()];
    for (device, state) in &case.states {
        states[*device] = state;
    }
    states
}

/// Whether some device inrushes in a case.
pub fn is_inrush(site: &Site, case: &Case) -> bool {
    case.states.iter().any(|(d, state)| {
        state == "inrush" && !matches!(site.devices[*d].draw_in(state), Draw::Off)
    })
}
