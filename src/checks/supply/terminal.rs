//! What terminals take: the thickness of a conductor, and how many go under one screw.

use crate::checks::{Check, Finding, Look};
use crate::diagnostic::Severity;
use crate::site::{Cable, End, Part, Run, Site, TerminalFit, Thing, Whole};
use crate::units::{Measure, Size};

pub(crate) const GAUGE: Check = Check {
    code: "terminal-gauge",
    question: "does the conductor go into the terminal?",
    formula: "cross-section of the conductor <= that of max_gauge",
    source: "the device's own data",
};
pub(crate) const WIRES: Check = Check {
    code: "terminal-wires",
    question: "do all conductors go under the screw?",
    formula: "conductors at one terminal <= wires_per_terminal",
    source: "the device's own data; splice with a pigtail: common practice, no source",
};

/// What may be over a cross-section that is the same in two systems of sizes.
const SAME: f64 = 1e-9;

pub(super) fn check(look: &Look<'_>, found: &mut Vec<Finding>) {
    let site = look.site;
    for (i, run) in look.runs().filter(|(i, _)| look.is_fitted(*i)) {
        let Some(cable) = run.cable(site) else {
            continue;
        };
        if let Some((message, area, limit)) = gauge(site, run, cable) {
            found.push(
                GAUGE
                    .finding(Severity::Fail, &run.name, message)
                    .about(Thing::Run(i))
                    .measured(area, limit, "mm2")
                    .put_in(format!("{area:.3} mm2 > {limit:.3} mm2")),
            );
        }
    }
    for (i, supply) in look.supplies() {
        found.extend(wires(look, Thing::Supply(i), &supply.name, supply.fit));
        let outputs = supply.outputs.iter().enumerate();
        for (o, output) in outputs.filter(|_| supply.fit.wires.is_some()) {
            let name = format!("{}.{}", supply.name, output.name);
            found.extend(count(
                look,
                Thing::Supply(i),
                (&name, "plus"),
                supply.fit,
                |end| end == End::Output(i, o),
            ));
        }
    }
    for (i, device) in look.devices() {
        found.extend(wires(look, Thing::Device(i), &device.name, device.fit));
    }
}

/// The thing at whose terminals an end is.
fn at(end: End) -> Option<Thing> {
    match end {
        End::Supply(i) | End::Output(i, _) | End::Terminal(Whole::Supply(i), _) => {
            Some(Thing::Supply(i))
        }
        End::Terminal(Whole::Output(i, _), _) => Some(Thing::Supply(i)),
        End::Device(i) | End::Terminal(Whole::Device(i), _) => Some(Thing::Device(i)),
        End::Terminal(Whole::Junction(_), _) | End::Junction(_) | End::Earth(_) => None,
    }
}

fn fit_of(site: &Site, end: End) -> Option<(&str, TerminalFit)> {
    match at(end)? {
        Thing::Supply(i) => Some((&site.supplies[i].name, site.supplies[i].fit)),
        Thing::Device(i) => Some((&site.devices[i].name, site.devices[i].fit)),
        _ => None,
    }
}

/// Why a cable's conductors do not go into the terminals of a run's ends, if so.
pub fn gauge_misfit(site: &Site, run: &Run, cable: &Cable) -> Option<String> {
    gauge(site, run, cable).map(|(message, ..)| message)
}

/// The message, and both cross-sections in mm2.
fn gauge(site: &Site, run: &Run, cable: &Cable) -> Option<(String, f64, f64)> {
    if run.resistance.is_some() {
        return None;
    }
    let mm2 = |size: Size| size.area().base() * 1e6;
    let ends = [run.from, run.to].into_iter();
    let tight = ends.filter_map(|end| {
        let (name, fit) = fit_of(site, end)?;
        let most = fit.max_gauge?;
        let (area, limit) = (mm2(cable.size), mm2(most));
        let message = || {
            format!(
                "{} is {}, the terminals of {name} take {most} at most: splice a thinner pigtail",
                run.name, cable.size
            )
        };
        (area > limit * (1.0 + SAME)).then(|| (message(), area, limit))
    });
    tight.min_by(|a, b| a.2.total_cmp(&b.2))
}

/// The two terminals of a supply or device.
fn wires(look: &Look<'_>, thing: Thing, name: &str, fit: TerminalFit) -> Option<Finding> {
    let is_own = move |end: End| at(end) == Some(thing) && !matches!(end, End::Output(..));
    let plus = move |end: End| is_own(end) && !matches!(end, End::Terminal(_, false));
    let minus = move |end: End| at(end) == Some(thing) && !matches!(end, End::Terminal(_, true));
    count(look, thing, (name, "plus"), fit, plus)
        .or_else(|| count(look, thing, (name, "minus"), fit, minus))
}

/// Conductors of power runs that end at one terminal.
fn count(
    look: &Look<'_>,
    thing: Thing,
    (name, terminal): (&str, &str),
    fit: TerminalFit,
    is_here: impl Fn(End) -> bool,
) -> Option<Finding> {
    let most = fit.wires?;
    let plus = terminal == "plus";
    let all = look.site.runs.iter().enumerate();
    let here = all.filter(|(i, run)| run.carries.power && look.is_fitted(*i));
    let conductors = here.map(|(_, run)| {
        let ends = [run.from, run.to].into_iter().filter(|end| is_here(*end));
        // A leg that starts in the device's own contact ends at that contact's terminal.
        let own = |part: &Part| matches!(part, Part::Contact(d, ..) if thing == Thing::Device(*d));
        let of_contact = plus && run.through.iter().any(own);
        let each = if plus {
            run.parallel
        } else {
            run.minus_parallel
        };
        if of_contact {
            0
        } else {
            each * u32::try_from(ends.count()).unwrap_or(0)
        }
    });
    let found: u32 = conductors.sum();
    if found <= most {
        return None;
    }
    let message = format!(
        "{found} conductors end at {name} {terminal}, its terminal takes {most}: join them in a splice and lead one pigtail in"
    );
    Some(
        WIRES
            .finding(Severity::Warn, name, message)
            .about(thing)
            .measured(f64::from(found), f64::from(most), "conductors")
            .put_in(format!("{found} > {most}")),
    )
}
