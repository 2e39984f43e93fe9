//! How long a lock still holds after its contact has opened.

use super::coil::clamp_voltage;
use super::{Contact, is_ac, is_coil};
use crate::checks::asks::Asks;
use crate::checks::{Check, Finding, Look, exceeds, greatest};
use crate::circuit::Law;
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::{Clamp, Device, Thing};
use crate::units::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Inductance, Measure, Time,
};

pub(crate) const RELEASE: Check = Check {
    code: "release-delay",
    question: "how long does the lock still hold after its contact opened?",
    formula: "t = L / R x ln((I + Vc / R) / (Irel + Vc / R)), Vc the volts of the clamp; magnetism that stays behind comes on top",
    source: "the current of a coil into a constant voltage; 0.1 s on a way out: common practice, no source",
};

/// Seconds after which a person pushes in vain, on a way out.
const LONG_S: f64 = 0.1;

/// A coil that gives back its current into a clamp.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Decay {
    /// Inductance of the coil.
    pub(crate) inductance: Inductance,
    /// Its resistance.
    pub(crate) resistance: ElectricalResistance,
    /// Amps at the moment of opening.
    pub(crate) from: ElectricCurrent,
    /// Amps at which it lets go.
    pub(crate) to: ElectricCurrent,
    /// Volts across the clamp.
    pub(crate) clamp: ElectricPotential,
}

impl Decay {
    /// Time until the coil lets go: L di/dt + R i + Vc = 0, from one current down to the other.
    /// Nothing where it starts below; no end where a clamp without volts lets it fall to nothing.
    pub(crate) fn time(&self) -> Time {
        let (l, r) = (self.inductance.base(), self.resistance.base());
        let (from, to) = (self.from.base(), self.to.base());
        let drive = self.clamp.base() / r;
        let seconds = if from <= to {
            0.0
        } else {
            l / r * ((from + drive) / (to + drive)).ln()
        };
        Time::from_base(seconds)
    }
}

pub(super) fn check(
    look: &Look<'_>,
    contacts: &[Contact],
    asks: &mut Asks,
    found: &mut Vec<Finding>,
) {
    for (i, device) in look.devices() {
        let switched = contacts.iter().any(|c| c.loads.contains(&i));
        if switched && is_coil(device) && !is_ac(look, i) {
            found.extend(delay(look, i, device, asks));
        }
    }
}

/// Whether people may have to leave by what the device locks; unanswered counts as yes.
fn on_way_out(look: &Look<'_>, device: &Device) -> bool {
    let door = device.door.and_then(|d| look.site.doors.get(d));
    door.is_none_or(|d| d.way_out != Some(false))
}

/// Ohms of the coil in a row: of its draw, or volts over amps.
pub(super) fn coil_ohm(look: &Look<'_>, row: &Row, i: usize) -> Option<f64> {
    match row.laws[i] {
        Law::Resistance(ohm) => Some(ohm),
        Law::Off => None,
        Law::Current(_) | Law::Power(_) => {
            let w = look.results.device(row, i)?;
            (w.amps.base() > 0.0).then(|| w.volts.base() / w.amps.base())
        }
    }
}

fn delay(look: &Look<'_>, i: usize, device: &Device, asks: &mut Asks) -> Option<Finding> {
    let coil = &device.coil;
    let matters = on_way_out(look, device);
    let amps = |row: &Row| Some(look.results.device(row, i)?.amps.base());
    let rows = look.results.rows.iter();
    let (amps, row) = greatest(rows, amps).filter(|(amps, _)| *amps > 0.0)?;
    let (Some(henry), Some(release), Some(clamp)) =
        (coil.inductance, coil.release_current, clamp_voltage(device))
    else {
        return diode_on_magnet(i, device, matters, asks);
    };
    let ohm = coil_ohm(look, row, i)?;
    let decay = Decay {
        inductance: henry,
        resistance: ElectricalResistance::from_base(ohm),
        from: ElectricCurrent::from_base(amps),
        to: release,
        clamp: ElectricPotential::from_base(clamp),
    };
    let seconds = decay.time().base();
    let severity = if matters && exceeds(seconds, LONG_S) {
        Severity::Warn
    } else {
        Severity::Note
    };
    let message = format!(
        "{} lets go {:.1} ms after its contact opened, at least; a clamp of more volts is quicker",
        device.name,
        1e3 * seconds
    );
    let numbers = format!(
        "{} H / {ohm:.2} ohm x ln(({amps:.4} + {clamp} / {ohm:.2}) / ({} + {clamp} / {ohm:.2})) = {seconds:.4} s",
        henry.base(),
        release.base()
    );
    Some(
        RELEASE
            .finding(severity, &device.name, message)
            .about(Thing::Device(i))
            .at(row)
            .measured(seconds, LONG_S, "s")
            .put_in(numbers),
    )
}

/// Without figures: a diode across an electromagnetic lock is known to hold it, and the rest is
/// asked where people may have to leave.
fn diode_on_magnet(i: usize, device: &Device, matters: bool, asks: &mut Asks) -> Option<Finding> {
    let magnet = device.kind.as_deref() == Some("electromagnetic lock");
    if !matters || !magnet {
        return None;
    }
    if device.coil.clamp == Some(Clamp::Diode) {
        let message = format!(
            "{} has a diode across its coil: such a lock may hold a second or two after it is switched off; use a varistor",
            device.name
        );
        let finding = RELEASE
            .finding(Severity::Warn, &device.name, message)
            .about(Thing::Device(i));
        return Some(finding.by("lock manuals (secondary copies seen): one to two seconds"));
    }
    let started = device.coil.inductance.is_some() || device.coil.release_current.is_some();
    if started {
        for (silent, words) in [
            (device.coil.inductance.is_none(), "inductance (of its coil)"),
            (
                device.coil.release_current.is_none(),
                "release_current (amps at which it lets go)",
            ),
        ] {
            if silent {
                asks.add(&device.name, Some(Thing::Device(i)), words);
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use rstest::rstest;

    use super::Decay;
    use crate::units::{
        ElectricCurrent, ElectricPotential, ElectricalResistance, Inductance, Measure,
    };

    // 24 ohm, 0.9 H, 0.5 A down to 0.06 A, worked by hand: tau 37.5 ms; a diode of 0.7 V 66.8 ms,
    // a zener of 24 V more 12.7 ms. L/R = 50 ms, 0.5 A to 0.05 A: 115 ms into no volts, and 18 ms
    // into 24 V, of a contact-protection note (secondary copy seen).
    #[rstest]
    #[case(0.9, 24.0, 0.06, 0.7, 0.0668)]
    #[case(0.9, 24.0, 0.06, 24.7, 0.0127)]
    #[case(1.2, 24.0, 0.05, 0.0, 0.1151)]
    #[case(1.2, 24.0, 0.05, 24.0, 0.0178)]
    #[case(0.9, 24.0, 0.6, 0.7, 0.0)]
    fn a_coil_lets_go(
        #[case] henry: f64,
        #[case] ohm: f64,
        #[case] release: f64,
        #[case] clamp: f64,
        #[case] expected: f64,
    ) {
        let decay = Decay {
            inductance: Inductance::from_base(henry),
            resistance: ElectricalResistance::from_base(ohm),
            from: ElectricCurrent::from_base(0.5),
            to: ElectricCurrent::from_base(release),
            clamp: ElectricPotential::from_base(clamp),
        };
        let found = decay.time().base();
        assert!((found - expected).abs() < 6e-5, "{found} s");
    }
}
