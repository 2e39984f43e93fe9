//! Designs that draw less, or not at once.

use super::Proposal;
use crate::diagnostic::Severity;
use crate::site::{Edit, Site};
use crate::study::Study;
use crate::units::{ApparentPower, Draw, Measure, spell};

/// The same lock with half the draw.
pub(super) fn lower_draw(site: &Site, device: usize) -> Option<Proposal> {
    let device = &site.devices[device];
    let kind = device.kind.as_deref()?;
    if !matches!(kind, "electromagnetic lock" | "electric strike") {
        return None;
    }
    let edits: Vec<Edit> = device
        .draw
        .iter()
        .filter_map(|(state, draw)| {
            let text = match draw {
                Draw::Off => return None,
                Draw::Current(amps) => spell(*amps / 2.0, "A"),
                Draw::Power(watts) => spell(*watts / 2.0, "W"),
                Draw::Apparent(va) => spell(ApparentPower::from_base(va.base() / 2.0), "VA"),
                Draw::Resistance(ohms) => spell(*ohms * 2.0, "ohm"),
            };
            Some(Edit::set(
                "device",
                &device.name,
                &format!("draw.{state}"),
                &text,
            ))
        })
        .collect();
    (!edits.is_empty()).then(|| Proposal {
        name: format!("{} with half the draw", device.name),
        why: "one of half the amps, where that holds as well".to_owned(),
        caution: None,
        extra: vec![format!("{kind} of half the draw for {}", device.name)],
        edits,
    })
}

/// Peaks one after the other instead of at once, where named cases let two things act together.
pub(super) fn staggered(site: &Site, study: &Study) -> Option<Proposal> {
    let mut edits = Vec::new();
    for case in &site.cases {
        let index = study.results.cases.iter().position(|c| c.name == case.name);
        let hurts = study
            .findings
            .iter()
            .any(|j| j.counts() && j.finding.case == index && j.finding.severity <= Severity::Fail);
        let acting: Vec<usize> = case
            .states
            .iter()
            .filter(|(_, state)| state != "idle" && state != "off")
            .map(|(d, _)| *d)
            .collect();
        // The one that draws most goes first; the others wait.
        if hurts && acting.len() > 1 && index.is_some() {
            for device in &acting[1..] {
                let key = format!("states.{}", site.devices[*device].name);
                edits.push(Edit::set("case", &case.name, &key, "idle"));
            }
        }
    }
    (!edits.is_empty()).then(|| Proposal {
        name: "peaks one after the other".to_owned(),
        why: "what acts together now acts in turn: an interlock or a delay, no copper".to_owned(),
        caution: None,
        extra: Vec::new(),
        edits,
    })
}
