//! The usual cautions, in our own words; everything defers to local code and licensed practice.

use crate::site::{Site, SupplyKind};

/// The cautions that a site earns, the general ones first.
pub fn cautions(site: &Site) -> Vec<String> {
    let code = if site.code.is_empty() {
        "not stated"
    } else {
        &site.code
    };
    let has = |kind: &str| site.devices.iter().any(|d| d.kind.as_deref() == Some(kind));
    let mut all = vec![
        format!("These figures help to plan. Code on file: {code}; local code, the authority and a licensed person decide."),
        "Isolate and lock off, the battery too, then prove dead with a meter that you have just proved live.".to_owned(),
        "Whatever is ahead of the low-voltage terminals, or over 30 V ac or 60 V dc, is for a licensed electrician.".to_owned(),
    ];
    if has("operator") || has("photo eye") || has("edge") || has("vehicle loop") || has("hub") {
        all.push("Edges, eyes and loops that guard people from a moving gate stay on the gate operator: never route, copy, delay or bypass them through the hub. Test them after any work.".to_owned());
    }
    if has("electromagnetic lock") || has("electric strike") || has("button") {
        all.push("If anyone may have to leave this way, it must open from inside without a card, when power fails, and on fire release where that is required.".to_owned());
    }
    if !site.earths.is_empty() {
        all.push("Earth is no wire: never tie negatives to rods to cure data, never lift a protective earth to cure a loop. Near lightning, work stops.".to_owned());
    }
    if site.supplies.iter().any(|s| s.kind == SupplyKind::Ac) {
        all.push("On ac over 15 V, wiring that wet hands can touch has stricter limits; underground pipe fills with water sooner or later.".to_owned());
    }
    all.push(
        "A joint with volts across it is a heater: over 1 W in a splice, stop using it.".to_owned(),
    );
    all.push("Blanks in the file were filled with defaults; agreement with this model is no test of an installation.".to_owned());
    all
}
