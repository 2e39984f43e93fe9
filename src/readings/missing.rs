//! What the readings leave out, so that nothing or little follows from them.

use std::collections::HashSet;

use crate::readings::bench::{Bench, FLOORS};
use crate::readings::error::stated;
use crate::readings::path::PathOhms;
use crate::site::{Found, Reading};

/// What is left out, in words, once for the whole site.
pub(super) fn missing(bench: &Bench<'_>, paths: &[PathOhms]) -> Vec<String> {
    let site = bench.site;
    let readings = || site.readings.iter();
    let live = |r: &Reading| matches!(r.found, Found::Volts(_) | Found::Amps(_));
    let placed = placed(bench);
    let all = readings().len();
    let mut left_out = Vec::new();
    let mut say = |count: usize, words: &str| {
        if count > 0 {
            left_out.push(format!("{count} of {all} {words}"));
        }
    };
    let without = |is_so: &dyn Fn(usize, &Reading) -> bool| {
        let each = readings().enumerate();
        each.filter(|(i, r)| is_so(*i, r)).count()
    };
    say(
        without(&|i, r| live(r) && !placed[i]),
        "name no case of the site, so nothing says what ran then",
    );
    say(
        without(&|_, r| r.meter.is_none()),
        "name no meter, so their error is taken for one step of the last digit",
    );
    say(
        without(&|_, r| r.meter.is_some() && stated(site, r).is_none()),
        "were taken with a meter that states no error for such a value",
    );
    say(
        without(&|i, r| matches!(r.found, Found::Amps(_)) && bench.is_weak(bench.read(i))),
        &format!(
            "are amps under {FLOORS} times the floor of their clamp, from which nothing follows"
        ),
    );
    say(alone(bench), "are volts without amps beside them");
    say(timeless(bench), "do not say when they were taken");
    let cold = paths.iter().filter(|path| !path.at_noted).count();
    if cold > 0 {
        left_out.push("nobody noted how warm the conductors were".to_owned());
    }
    left_out
}

/// By reading: whether it is known in which case it was taken.
fn placed(bench: &Bench<'_>) -> Vec<bool> {
    let mut placed = vec![false; bench.site.readings.len()];
    for moment in bench.moments.iter().filter(|m| m.case.is_some()) {
        for i in &moment.readings {
            placed[*i] = true;
        }
    }
    placed
}

/// Volts in moments in which no amps were read.
fn alone(bench: &Bench<'_>) -> usize {
    let readings = &bench.site.readings;
    let is_amps = |i: &usize| matches!(readings[*i].found, Found::Amps(_));
    let is_volts = |i: &&usize| matches!(readings[**i].found, Found::Volts(_));
    let moments = bench.moments.iter();
    moments
        .filter(|moment| !moment.readings.iter().any(is_amps))
        .map(|moment| moment.readings.iter().filter(is_volts).count())
        .sum()
}

/// Readings without a time, neither their own nor one of their set.
fn timeless(bench: &Bench<'_>) -> usize {
    let readings = &bench.site.readings;
    let timed: HashSet<u32> = readings
        .iter()
        .filter(|r| r.time.is_some())
        .filter_map(|r| r.set)
        .collect();
    let has = |r: &Reading| r.time.is_some() || r.set.is_some_and(|set| timed.contains(&set));
    readings.iter().filter(|r| !has(r)).count()
}
