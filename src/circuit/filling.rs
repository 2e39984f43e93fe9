//! The values of a case and a corner, put into a template's circuit.

use crate::circuit::corner::{Corner, states};
use crate::circuit::live::Live;
use crate::circuit::lower::Template;
use crate::circuit::{Circuit, Law, phase};
use crate::site::{Case, Site};
use crate::units::{Draw, Measure, ThermodynamicTemperature};

/// One circuit that takes the values of case after case and corner after corner.
#[derive(Debug)]
pub struct Filling<'a> {
    template: &'a Template,
    site: &'a Site,
    pub(super) circuit: Circuit,
    live: Option<&'a Live>,
    case: Option<&'a Case>,
    /// What each device draws in the case.
    draws: Vec<Draw>,
    /// Ohms of every branch, for the temperatures of a corner and of a case.
    ohms: Vec<(Corner, Option<ThermodynamicTemperature>, Vec<f64>)>,
}

impl<'a> Filling<'a> {
    /// Takes the circuit of a site, without values.
    pub fn new(template: &'a Template, site: &'a Site) -> Self {
        Self {
            template,
            site,
            circuit: template.base.clone(),
            live: None,
            case: None,
            draws: Vec::new(),
            ohms: Vec::new(),
        }
    }

    /// Goes on to a case.
    pub fn case(&mut self, case: &'a Case, live: &'a Live) {
        let states = states(self.site, case);
        let devices = self.site.devices.iter().zip(states).zip(&live.devices);
        self.draws.clear();
        self.draws.extend(devices.map(|((device, state), on)| {
            if *on {
                device.draw_in(state)
            } else {
                Draw::Off
            }
        }));
        (self.case, self.live) = (Some(case), Some(live));
    }

    /// The circuit in a corner of the case.
    pub fn corner(&mut self, corner: Corner) -> &Circuit {
        let (Some(case), Some(live)) = (self.case, self.live) else {
            return &self.circuit;
        };
        let at = self.ohms_at(case, corner);
        let ohms = &self.ohms[at].2;
        for ((branch, ohm), open) in self.circuit.branches.iter_mut().zip(ohms).zip(&live.open) {
            branch.resistance_ohm = if *open { f64::INFINITY } else { *ohm };
        }
        for (i, source) in self.circuit.sources.iter_mut().enumerate() {
            source.volts_v = corner.volts(&self.site.supplies[i]).base();
            source.live = live.supplies[i];
        }
        let factor = corner.draw_factor(self.site.design.draw_tolerance);
        for (load, draw) in self.circuit.loads.iter_mut().zip(&self.draws) {
            load.law = law_of(*draw, factor);
        }
        phase::add(
            self.template,
            self.site,
            live,
            (&self.draws, factor),
            &mut self.circuit,
        );
        &self.circuit
    }

    /// Where the ohms of a corner and case stand: most cases have no temperature of their own.
    fn ohms_at(&mut self, case: &Case, corner: Corner) -> usize {
        // Both have the conductors cold.
        let corner = match corner {
            Corner::Heavy => Corner::High,
            other => other,
        };
        let same = |(c, t, _): &(Corner, _, _)| (*c, *t) == (corner, case.temperature);
        self.ohms.iter().position(same).unwrap_or_else(|| {
            let ohms = self.template.ohms(self.site, case, corner);
            self.ohms.push((corner, case.temperature, ohms));
            self.ohms.len() - 1
        })
    }
}

/// A draw with its tolerance; `phase` adds its angle.
pub fn law_of(draw: Draw, factor: f64) -> Law {
    match draw {
        Draw::Off => Law::Off,
        Draw::Current(amps) => Law::Current(amps.base() * factor),
        Draw::Power(watts) => Law::Power(watts.base() * factor),
        Draw::Apparent(va) => Law::Power(va.base() * factor),
        Draw::Resistance(ohms) => Law::Resistance(ohms.base() / factor),
    }
}
