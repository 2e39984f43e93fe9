//! Whether there is an operating point, and how far each draw is from losing it.

use crate::checks::{Check, Finding, Look};
use crate::circuit::{Circuit, Corner, Law};
use crate::diagnostic::Severity;
use crate::results::Row;
use crate::site::Thing;
use crate::solve::{Solution, Solver};

pub(crate) const POINT: Check = Check {
    code: "no-operating-point",
    question: "can the network serve what is drawn at all?",
    formula: "a load of P watts behind R ohms exists only up to P = V^2 / (4 R)",
    source: "maximum power transfer: Cartwright, Technology Interface, spring 2008 (abstract seen); solved on the whole network",
};
pub(crate) const HEADROOM: Check = Check {
    code: "headroom",
    question: "by which factor can this draw alone still grow before the volts collapse?",
    formula: "factor >= 2; for one load V^2 / (4 P R)",
    source: "maximum power transfer: Cartwright, Technology Interface, spring 2008 (abstract seen); the limit 2 is common practice, no source",
};

/// Under this factor a draw is fragile.
const FRAGILE: f64 = 2.0;

pub(crate) fn check(look: &Look<'_>, solver: &mut Solver, found: &mut Vec<Finding>) {
    found.extend(no_point(look));
    let mut worst: Vec<Option<(f64, &Row)>> = vec![None; look.site.devices.len()];
    // The corner low has the least volts, the most ohms and the greatest draws.
    for row in look.results.rows.iter().filter(|r| r.corner == Corner::Low) {
        let Some(solution) = row.solution() else {
            continue;
        };
        let case = &look.results.cases[row.case];
        let circuit = look.results.template.circuit(
            look.site,
            case,
            row.corner,
            &look.results.live[row.case],
        );
        for (device, factor) in fragile(look, &circuit, solution, solver) {
            if worst[device].is_none_or(|(least, _)| factor < least) {
                worst[device] = Some((factor, row));
            }
        }
    }
    for (i, worst) in worst.into_iter().enumerate() {
        let Some((factor, row)) = worst else { continue };
        let name = &look.site.devices[i].name;
        let message = format!("{name} is near collapse: its draw can grow only {factor:.2} times");
        let finding = HEADROOM
            .finding(Severity::Warn, name, message)
            .about(Thing::Device(i))
            .at(row);
        found.push(
            finding
                .measured(factor, FRAGILE, "x")
                .put_in(format!("{factor:.2} < {FRAGILE}"))
                .lower_is_worse(),
        );
    }
}

fn no_point(look: &Look<'_>) -> Option<Finding> {
    let short = look
        .results
        .rows
        .iter()
        .filter_map(|row| Some((look.results.shortfall(look.site, row)?, row)));
    let (shortfall, row) = short.min_by(|a, b| a.0.served.total_cmp(&b.0.served))?;
    let device = shortfall.device?;
    let name = &look.site.devices[device].name;
    let message = format!(
        "{name} cannot be served: the network has no operating point; {:.1} % of the draws could be served",
        shortfall.served * 100.0
    );
    let finding = POINT
        .finding(Severity::Fail, name, message)
        .about(Thing::Device(device))
        .at(row);
    Some(
        finding
            .measured(shortfall.served, 1.0, "x")
            .put_in(format!("served {:.3} < 1", shortfall.served))
            .lower_is_worse(),
    )
}

/// Loads whose draw alone cannot grow twofold, each with the factor by which it can.
///
/// What a whole group can do together, each of it can do alone, so groups are halved until the
/// fragile ones stand alone.
fn fragile(
    look: &Look<'_>,
    circuit: &Circuit,
    solution: &Solution,
    solver: &mut Solver,
) -> Vec<(usize, f64)> {
    let grows = |law: Law| {
        matches!(law, Law::Current(a) if a > 0.0) || matches!(law, Law::Power(w) if w > 0.0)
    };
    let all: Vec<usize> = (look.devices())
        .map(|(i, _)| i)
        .filter(|i| grows(circuit.loads[*i].law))
        .collect();
    let mut found = Vec::new();
    let mut groups = vec![all];
    while let Some(group) = groups.pop() {
        if group.is_empty() {
            continue;
        }
        let mut scale = vec![1.0; circuit.loads.len()];
        group.iter().for_each(|i| scale[*i] = FRAGILE);
        if solver.serves(circuit, &scale, Some(solution)) {
            continue;
        }
        if let [one] = group.as_slice() {
            found.push((*one, solver.headroom(circuit, solution, *one, FRAGILE)));
        } else {
            let (left, right) = group.split_at(group.len() / 2);
            groups.push(left.to_vec());
            groups.push(right.to_vec());
        }
    }
    found
}
