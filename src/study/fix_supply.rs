//! Fixes of fuses, of the metal of a cable and of one costly run.

use super::fix::{Candidate, RATINGS, thicker};
use crate::checks::{Finding, Shorts, limit_of};
use crate::circuit::is_inrush;
use crate::site::{Answers, Edit, End, Fuse, Part, Run, Site, Thing};
use crate::study::Study;
use crate::tables::Material;
use crate::units::{ElectricCurrent, Measure};

/// Part of its rating that a fuse carries for good.
const FOR_GOOD: f64 = 0.75;
/// What the solver's rounding may add, in amperes.
const SAME: f64 = 1e-9;

/// A fuse that lets through more than what lies behind it bears, or that a far short does not
/// blow: a smaller one where that carries the load, then thicker cable or an electronic one.
pub(super) fn fuse(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let Some(Thing::Fuse(i)) = finding.thing else {
        return Vec::new();
    };
    let mut ladders = vec![smaller(site, study, i)];
    if finding.code == "fuse-conductor" {
        ladders.push(thicker(site, &too_thin(site, study, i)));
    } else {
        ladders.push(electronic(site, i).into_iter().collect());
        ladders.push(thicker(site, &behind(site, study, i)));
    }
    ladders
}

/// Amps that a fuse carries for good, at most.
fn load(site: &Site, study: &Study, fuse: usize) -> Option<f64> {
    let results = &study.results;
    let part = Part::Fuse(fuse);
    let branch = results.template.part(part)?;
    let steady = (results.rows.iter()).filter(|row| !is_inrush(site, &results.cases[row.case]));
    let amps = steady.filter_map(|row| results.part_rms(site, row, (part, branch)));
    amps.reduce(f64::max)
}

/// The usual ratings under its own that still carry the load, greatest first.
fn smaller(site: &Site, study: &Study, i: usize) -> Vec<Candidate> {
    let fuse = &site.fuses[i];
    let (Some(was), Some(load)) = (fuse.current, load(site, study, i)) else {
        return Vec::new();
    };
    let share = FOR_GOOD.min(1.0 - site.design.spare.value);
    let fits = |amps: &&f64| **amps < was.base() && load <= share * **amps + SAME;
    let rung = |amps: &f64| {
        let mut changed = site.clone();
        changed.fuses[i].current = Some(ElectricCurrent::from_base(*amps));
        Candidate {
            what: format!(
                "{} of {amps} A (was {} A), which still carries its {load:.2} A",
                fuse.name,
                was.base()
            ),
            site: changed,
            edits: vec![Edit::set(
                "fuse",
                &fuse.name,
                "current",
                &format!("{amps} A"),
            )],
        }
    };
    RATINGS.iter().rev().filter(fits).map(rung).collect()
}

fn electronic(site: &Site, i: usize) -> Option<Candidate> {
    let fuse = &site.fuses[i];
    let mut changed = site.clone();
    changed.fuses[i].kind = Some("electronic".to_owned());
    Some(Candidate {
        what: format!(
            "{} as an electronic limiter of {} A, where one exists",
            fuse.name,
            fuse.current?.base()
        ),
        site: changed,
        edits: vec![Edit::set("fuse", &fuse.name, "kind", "electronic")],
    })
}

/// The runs that pass a fuse, and those behind them.
fn behind(site: &Site, study: &Study, fuse: usize) -> Vec<usize> {
    let passes = |run: &usize| site.runs[*run].through.contains(&Part::Fuse(fuse));
    let is_behind = |i: &usize| {
        let run: &Run = &site.runs[*i];
        let ways = [run.from, run.to].map(|end| study.results.ways.way_to(end));
        let mut runs = ways.iter().flatten().filter_map(|(run, _)| *run);
        run.carries.power && (passes(i) || runs.any(|run| passes(&run)))
    };
    (0..site.runs.len()).filter(is_behind).collect()
}

/// Of those, the runs whose conductors bear less than the fuse lets through.
fn too_thin(site: &Site, study: &Study, fuse: usize) -> Vec<usize> {
    let rated = site.fuses[fuse].current.map_or(0.0, Measure::base);
    let thin = |i: &usize| {
        let run = &site.runs[*i];
        let limit = run.cable(site).and_then(limit_of);
        let conductors = f64::from(run.parallel.min(run.minus_parallel.max(1)));
        limit.is_some_and(|(each, _)| each * conductors < rated - 1e-9)
    };
    behind(site, study, fuse).into_iter().filter(thin).collect()
}

/// A fuse where each run starts that has none: of those that leave a supply, or that take a hub down.
pub(super) fn fused(site: &Site, study: &Study, finding: &Finding) -> Vec<Vec<Candidate>> {
    let runs: Vec<usize> = match finding.thing {
        Some(Thing::Supply(i)) => {
            let bare = |run: &Run| {
                let fuse = run.through.iter().any(|p| matches!(p, Part::Fuse(_)));
                run.carries.power && run.from == End::Supply(i) && !fuse
            };
            let all = site.runs.iter().enumerate();
            all.filter(|(_, run)| bare(run)).map(|(r, _)| r).collect()
        }
        Some(Thing::Device(i)) => Shorts::of(site, &study.results).takes_down(i),
        _ => return Vec::new(),
    };
    vec![with_fuses(site, study, &runs).into_iter().collect()]
}

fn with_fuses(site: &Site, study: &Study, runs: &[usize]) -> Option<Candidate> {
    let mut changed = site.clone();
    let (mut edits, mut words) = (Vec::new(), Vec::new());
    for run in runs {
        let own = &site.runs[*run];
        // The fuse sits at `from`: that must be the end towards the supply.
        let towards = study.results.ways.towards(own.to)?;
        let amps = fuse_for(site, study, *run).filter(|_| towards.0 == Some(*run))?;
        let mut names = (1..).map(|n| format!("F{n}"));
        let name = names.find(|name| !changed.names.contains_key(name))?;
        let fuse = changed.fuses.len();
        changed.names.insert(name.clone(), Thing::Fuse(fuse));
        changed.fuses.push(Fuse {
            name: name.clone(),
            place: None,
            current: Some(ElectricCurrent::from_base(amps)),
            kind: None,
            resistance: None,
            answers: Answers::default(),
        });
        changed.runs[*run].through.insert(0, Part::Fuse(fuse));
        let through = changed.runs[*run].through.iter();
        let through: Vec<String> = through.map(|part| changed.part_text(*part)).collect();
        edits.push(Edit::Add {
            table: vec!["fuse".to_owned(), name.clone()],
            keys: vec![("current".to_owned(), format!("{amps} A"))],
        });
        edits.push(Edit::set("run", &own.name, "through", &through.join(", ")));
        words.push(format!(
            "a fuse {name} of {amps} A where {} starts",
            own.name
        ));
    }
    (!edits.is_empty()).then(|| Candidate {
        what: words.join(", "),
        site: changed,
        edits,
    })
}

/// The smallest usual fuse that carries what a run does, if its conductors bear that.
fn fuse_for(site: &Site, study: &Study, run: usize) -> Option<f64> {
    let (results, own) = (&study.results, &site.runs[run]);
    let steady = (results.rows.iter()).filter(|row| !is_inrush(site, &results.cases[row.case]));
    let amps = steady.filter_map(|row| {
        let amps = results.run(site, row, run)?.amps?;
        Some(results.leg_rms(row, run, amps))
    });
    let load = amps.reduce(f64::max)?;
    let share = FOR_GOOD.min(1.0 - site.design.spare.value);
    let rated = RATINGS
        .into_iter()
        .find(|rated| load <= share * rated + SAME)?;
    let cable = own.cable(site).filter(|_| own.resistance.is_none());
    let limit = cable
        .and_then(limit_of)
        .map(|(each, _)| each * f64::from(own.parallel));
    limit.is_none_or(|limit| rated <= limit).then_some(rated)
}

/// The same cable in copper.
pub(super) fn in_copper(site: &Site, finding: &Finding) -> Vec<Vec<Candidate>> {
    let own = site.cables[..site.own_cables.min(site.cables.len())].iter();
    let found = own.enumerate().find(|(_, c)| c.name == finding.subject);
    let Some((i, cable)) = found.filter(|(_, c)| c.material == Material::CopperCladAluminum) else {
        return Vec::new();
    };
    let mut changed = site.clone();
    changed.cables[i].material = Material::Copper;
    vec![vec![Candidate {
        what: format!("cable {} in copper", cable.name),
        site: changed,
        edits: vec![Edit::set("cable", &cable.name, "material", "copper")],
    }]]
}

/// What the devices behind a run then get, at the least.
pub(super) fn behind_run(site: &Site, after: &Study, run: usize) -> Option<String> {
    let results = &after.results;
    let is_behind = |i: &usize| {
        let way = results.ways.way_to(End::Device(*i));
        way.into_iter().any(|(own, _)| own == Some(run))
    };
    let least = (0..site.devices.len()).filter(is_behind).filter_map(|i| {
        let rows = results
            .rows
            .iter()
            .filter(|r| results.live[r.case].devices[i]);
        let volts = rows.filter_map(|r| Some(results.device(r, i)?.volts.base()));
        Some((volts.min_by(f64::total_cmp)?, i))
    });
    let (volts, i) = least.min_by(|a, b| a.0.total_cmp(&b.0))?;
    Some(format!(
        "{} then gets {volts:.2} V at least",
        site.devices[i].name
    ))
}
