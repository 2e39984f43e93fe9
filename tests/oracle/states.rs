//! The worst over all states against brute force: every combination solved, one by one.
//!
//! Most sites are solved with the program's own solver, which the rest of this folder holds
//! against the dense one; some with the dense one itself.

use std::collections::BTreeMap;

use farend::circuit::Corner as Named;
use farend::report;
use farend::results::Results;
use farend::site::{self, Part, Site};
use farend::solve::Solver;
use farend::states::{AllStates, Reach};
use farend::study::Study;
use farend::units::Measure as _;
use serde_json::Value;

use super::make::make_small;
use super::network::{
    CORNERS, Corner, Law, Net, has_common, has_minus, has_power, is_bond, state_of, terminals,
};
use super::plan::{Case, Draw, Plan};
use super::solve::solve;

/// One combination in one corner: volts of devices that draw, and amps by name.
struct Sheet {
    volts: Vec<Option<f64>>,
    amps: BTreeMap<String, f64>,
}

/// The worst of all sheets so far.
struct Worst {
    least: Vec<f64>,
    most: Vec<f64>,
    amps: BTreeMap<String, f64>,
    served: f64,
}

/// Relays both of whose contacts stand in some `through`.
fn two_way(plan: &Plan) -> Vec<String> {
    let stands = |part: String| plan.runs.iter().any(|r| r.through.contains(&part));
    let relays = plan.devices.iter().flat_map(|d| {
        d.relays
            .iter()
            .map(|(relay, _)| format!("{}.{relay}", d.name))
    });
    relays
        .filter(|r| stands(format!("{r}.no")) && stands(format!("{r}.nc")))
        .collect()
}

/// Every combination of a plan, as cases.
fn combinations(plan: &Plan) -> Vec<Case> {
    let mut all = vec![Vec::new()];
    for device in &plan.devices {
        let states = device.draw.iter().map(|(state, _)| state.as_str());
        let states: Vec<&str> = states.filter(|s| *s != "average").chain(["off"]).collect();
        all = spread(&all, &device.name, &states);
    }
    for relay in two_way(plan) {
        all = spread(&all, &relay, &["rest", "pulled"]);
    }
    let apart = |states: &Vec<(String, String)>| {
        plan.exclusive
            .iter()
            .all(|list| list.iter().filter(|place| states.contains(place)).count() <= 1)
    };
    let case = |states| Case {
        states,
        ..Case::default()
    };
    all.into_iter().filter(apart).map(case).collect()
}

type States = Vec<(String, String)>;

fn spread(all: &[States], thing: &str, states: &[&str]) -> Vec<States> {
    let with = |before: &States, state: &str| {
        let mut states = before.clone();
        states.push((thing.to_owned(), state.to_owned()));
        states
    };
    all.iter()
        .flat_map(|before| states.iter().map(|s| with(before, s)).collect::<Vec<_>>())
        .collect()
}

fn nothing(draw: Draw) -> bool {
    match draw {
        Draw::Off => true,
        Draw::Amps(x) | Draw::Watts(x) => x == 0.0,
        _ => false,
    }
}

/// By the dense solver.
fn by_oracle(plan: &Plan, case: &Case, corner: Corner) -> Result<Sheet, f64> {
    let net = Net::of(plan, case, corner);
    let point = solve(&net, 1.0)?;
    let wire = |key: &str| {
        let place = net.wires.keys().position(|k| k == key);
        place.map_or(0.0, |i| point.wires[i].abs())
    };
    let mut amps = BTreeMap::new();
    for (i, supply) in plan.supplies.iter().enumerate() {
        let through = if net.sources[i].live {
            point.sources[i]
        } else {
            0.0
        };
        amps.insert(format!("supplies {}", supply.name), through);
        for (output, _) in &supply.outputs {
            let name = format!("{}.{output}", supply.name);
            amps.insert(format!("outputs {name}"), wire(&format!("output {name}")));
        }
    }
    for run in &plan.runs {
        for part in run.through.iter().filter(|_| has_power(run)) {
            let kind = if part.contains('.') {
                "relays"
            } else {
                "fuses"
            };
            amps.insert(format!("{kind} {part}"), wire(&format!("part {part}")));
        }
        let mut legs = Vec::new();
        if is_bond(run) {
            legs.push("bond");
        } else if has_power(run) {
            legs.push("plus");
        }
        if has_minus(run) {
            legs.push("minus");
        }
        if has_common(run) {
            legs.push("common");
        }
        let most = legs
            .iter()
            .map(|leg| wire(&format!("{}.{leg}", run.name)))
            .reduce(f64::max);
        amps.extend(most.map(|most| (format!("runs {}", run.name), most)));
    }
    let volts = (0..plan.devices.len())
        .map(|d| {
            let own = net
                .loads
                .iter()
                .any(|l| l.device == d && !matches!(l.law, Law::Feed(..)));
            let drawing = own && !nothing(state_of(plan, case, d).1);
            let (plus, minus) = terminals(plan, &plan.devices[d].name);
            (drawing && net.device_live[d])
                .then(|| point.volts[net.at(&plus)] - point.volts[net.at(&minus)])
        })
        .collect();
    Ok(Sheet { volts, amps })
}

/// By the program's solver.
fn by_solver(
    plan: &Plan,
    site: &Site,
    case: &Case,
    corner: Named,
    solver: &mut Solver,
) -> Result<Sheet, f64> {
    let mut typed = site::Case {
        name: String::new(),
        states: Vec::new(),
        relays: Vec::new(),
        broken: Vec::new(),
        fitted: Vec::new(),
        temperature: None,
    };
    for (thing, state) in &case.states {
        match thing.split_once('.') {
            Some((device, relay)) => {
                let d = site.devices.iter().position(|d| d.name == device).unwrap();
                let r = site.devices[d]
                    .relays
                    .iter()
                    .position(|r| r.name == relay)
                    .unwrap();
                typed.relays.push((d, r, state == "pulled"));
            }
            None => {
                let d = site.devices.iter().position(|d| d.name == *thing).unwrap();
                typed.states.push((d, state.clone()));
            }
        }
    }
    let results = Results::in_corners((site, vec![typed]), &[corner], solver, None);
    let row = &results.rows[0];
    if let Some(short) = results.shortfall(site, row) {
        return Err(short.served);
    }
    let mut amps = BTreeMap::new();
    let branch = |b| results.branch(row, b).unwrap().base().abs();
    for (i, supply) in site.supplies.iter().enumerate() {
        let through = results.supply(row, i).unwrap().amps.base();
        amps.insert(format!("supplies {}", supply.name), through);
        for (o, output) in supply.outputs.iter().enumerate() {
            let through = branch(results.template.outputs[i][o]);
            amps.insert(format!("outputs {}.{}", supply.name, output.name), through);
        }
    }
    for (part, b) in &results.template.parts {
        let kind = if matches!(part, Part::Fuse(_)) {
            "fuses"
        } else {
            "relays"
        };
        amps.insert(format!("{kind} {}", site.part_text(*part)), branch(*b));
    }
    for (i, run) in site.runs.iter().enumerate() {
        let flow = results.run(site, row, i).unwrap();
        let legs = [flow.amps, flow.return_amps, flow.common_amps];
        let most = legs
            .into_iter()
            .flatten()
            .map(|a| a.base().abs())
            .reduce(f64::max);
        amps.extend(most.map(|most| (format!("runs {}", run.name), most)));
    }
    let volts = (0..site.devices.len())
        .map(|d| {
            let drawing = !nothing(state_of(plan, case, d).1);
            (drawing && results.live[0].devices[d])
                .then(|| results.device(row, d).unwrap().volts.base())
        })
        .collect();
    Ok(Sheet { volts, amps })
}

impl Worst {
    fn new(plan: &Plan) -> Self {
        Self {
            least: vec![f64::INFINITY; plan.devices.len()],
            most: vec![f64::NEG_INFINITY; plan.devices.len()],
            amps: BTreeMap::new(),
            served: 1.0,
        }
    }

    fn take(&mut self, sheet: Result<Sheet, f64>, corner: &str) {
        let sheet = match sheet {
            Ok(sheet) => sheet,
            Err(served) => {
                self.served = self.served.min(served);
                return;
            }
        };
        for (d, volts) in sheet.volts.iter().enumerate() {
            match (volts, corner) {
                (Some(v), "low") => self.least[d] = self.least[d].min(*v),
                (Some(v), "high") => self.most[d] = self.most[d].max(*v),
                _ => {}
            }
        }
        if corner != "high" {
            for (name, amps) in sheet.amps {
                let most = self.amps.entry(name).or_insert(amps);
                *most = most.max(amps);
            }
        }
    }
}

fn near(found: Option<f64>, expected: f64, part: f64) -> bool {
    match found {
        Some(found) => (found - expected).abs() <= 1e-6 + part * expected.abs(),
        None => !expected.is_finite(),
    }
}

/// Holds the JSON against what brute force found.
fn compare(plan: &Plan, json: &Value, worst: &Worst, part: f64) -> Vec<String> {
    let mut lines = Vec::new();
    let all = &json["all_states"];
    if all["proven"] != true {
        lines.push("not proven".to_owned());
    }
    let count = combinations(plan).len();
    if all["combinations"] != count {
        lines.push(format!(
            "{} combinations, expected {count}",
            all["combinations"]
        ));
    }
    for (d, device) in all["devices"].as_array().unwrap().iter().enumerate() {
        for (key, expected) in [
            ("least_volts", worst.least[d]),
            ("most_volts", worst.most[d]),
        ] {
            if !near(device[key].as_f64(), expected, part) {
                lines.push(format!("{key} {device}, expected {expected}"));
            }
        }
    }
    let mut seen = 0;
    for list in ["supplies", "outputs", "fuses", "relays", "runs"] {
        for thing in all[list].as_array().unwrap() {
            let expected = worst
                .amps
                .get(&format!("{list} {}", thing["id"].as_str().unwrap()));
            seen += usize::from(expected.is_some());
            let fine = match expected {
                Some(expected) => near(thing["most_amps"].as_f64(), *expected, part),
                None => thing["most_amps"].is_null(),
            };
            if !fine {
                lines.push(format!("{list} {thing}, expected {expected:?}"));
            }
        }
    }
    if seen != worst.amps.len() {
        lines.push(format!("{seen} amps of {}", worst.amps.len()));
    }
    let served = all["unserved"]["served"].as_f64();
    let fine = if worst.served >= 1.0 {
        all["unserved"].is_null()
    } else {
        served.is_some_and(|s| (s - worst.served).abs() <= 1e-4 + part)
    };
    if !fine {
        lines.push(format!(
            "unserved {}, expected {}",
            all["unserved"], worst.served
        ));
    }
    lines
}

/// A printed state as a case: what is missing is idle.
fn printed(plan: &Plan, state: &Value) -> Case {
    let states = state.as_object().unwrap().iter();
    let case = Case {
        states: states
            .map(|(k, v)| (k.clone(), v.as_str().unwrap().to_owned()))
            .collect(),
        ..Case::default()
    };
    for (thing, state) in &case.states {
        let device = plan.devices.iter().find(|d| d.name == *thing);
        let known = device.is_none_or(|d| d.draw.iter().any(|(s, _)| s == state));
        assert!(known || state == "off", "{thing} {state}");
    }
    for list in &plan.exclusive {
        let stands = |(thing, state): &&(String, String)| {
            let own = case.states.iter().find(|(t, _)| t == thing);
            own.map_or("idle", |(_, s)| s) == state
        };
        assert!(
            list.iter().filter(stands).count() <= 1,
            "{list:?} in {case:?}",
            case = case.states
        );
    }
    case
}

/// Every printed value is that of its printed state.
fn states_hold(plan: &Plan, site: &Site, json: &Value) -> Vec<String> {
    let mut lines = Vec::new();
    let solver = &mut Solver::new();
    let all = &json["all_states"];
    let mut hold = |thing: &Value,
                    value: &str,
                    state: &str,
                    corner: Named,
                    key: &dyn Fn(&Sheet) -> Option<f64>| {
        let Some(value) = thing[value].as_f64() else {
            if !thing[state].is_null() {
                lines.push(format!("{thing} has a state and no value"));
            }
            return;
        };
        let case = printed(plan, &thing[state]);
        let sheet = by_solver(plan, site, &case, corner, solver);
        let found = sheet.as_ref().ok().and_then(key);
        if !found.is_some_and(|found| (found - value).abs() <= 1e-7 * (1.0 + value.abs())) {
            lines.push(format!("{thing} {state} has {found:?}"));
        }
    };
    for (d, device) in all["devices"].as_array().unwrap().iter().enumerate() {
        hold(device, "least_volts", "least_state", Named::Low, &|s| {
            s.volts[d]
        });
        hold(device, "most_volts", "most_state", Named::High, &|s| {
            s.volts[d]
        });
    }
    for list in ["supplies", "outputs", "fuses", "relays", "runs"] {
        for thing in all[list].as_array().unwrap() {
            let corner = if thing["corner"] == "low" {
                Named::Low
            } else {
                Named::Heavy
            };
            let key = format!("{list} {}", thing["id"].as_str().unwrap());
            hold(thing, "most_amps", "state", corner, &|s| {
                s.amps.get(&key).copied()
            });
        }
    }
    if !all["unserved"].is_null() {
        let unserved = &all["unserved"];
        let corner = *Named::ALL
            .iter()
            .find(|c| unserved["corner"] == c.as_str())
            .unwrap();
        let case = printed(plan, &unserved["state"]);
        let sheet = by_solver(plan, site, &case, corner, solver);
        let served = unserved["served"].as_f64().unwrap();
        if !sheet.err().is_some_and(|s| (s - served).abs() < 1e-6) {
            lines.push(format!("{unserved} is served"));
        }
    }
    lines
}

/// What occurred among the sites of a test.
#[derive(Debug, Default)]
struct Seen {
    sites: usize,
    short: usize,
    void: usize,
    relays: usize,
    exclusive: usize,
    fed: usize,
}

fn check(seeds: std::ops::Range<u64>, most: usize, dense: bool) -> Seen {
    let mut seen = Seen::default();
    let mut differences = Vec::new();
    for seed in seeds {
        let plan = make_small(seed);
        let all = combinations(&plan);
        if all.len() > most {
            continue;
        }
        let text = plan.text();
        let site = site::read(&text).unwrap_or_else(|m| panic!("seed {seed}: {m:#?}\n{text}"));
        let solver = &mut Solver::new();
        let mut study = Study::of(&site, solver);
        study.take_states(&site, AllStates::of(&site, Reach::Proof, solver));
        let json = report::json("random.toml", &site, &study, &[]).unwrap();
        let json: Value = serde_json::from_str(&json).unwrap();
        let mut worst = Worst::new(&plan);
        for case in &all {
            for (corner, named) in CORNERS.iter().zip(Named::ALL).skip(1) {
                let sheet = if dense {
                    by_oracle(&plan, case, *corner)
                } else {
                    by_solver(&plan, &site, case, named, solver)
                };
                worst.take(sheet, corner.0);
            }
        }
        seen.sites += 1;
        seen.short += usize::from(worst.served < 1.0);
        seen.void += usize::from(worst.amps.is_empty());
        seen.relays += usize::from(!two_way(&plan).is_empty());
        seen.exclusive += usize::from(!plan.exclusive.is_empty());
        seen.fed += usize::from(plan.supplies.iter().any(|s| s.fed_by.is_some()));
        let part = if dense { 2e-4 } else { 1e-7 };
        let mut found = compare(&plan, &json, &worst, part);
        found.extend(states_hold(&plan, &site, &json));
        if !found.is_empty() {
            let first = &found[..found.len().min(4)];
            differences.push(format!(
                "seed {seed}: {} differences: {first:#?}\n{text}",
                found.len()
            ));
        }
    }
    println!("{seen:?}");
    assert!(
        differences.is_empty(),
        "{} of {seen:?} differ\n{}",
        differences.len(),
        differences[..differences.len().min(3)].join("\n")
    );
    seen
}

#[test]
fn brute_force_finds_nothing_worse_1() {
    let seen = check(0..170, 150, false);
    assert!(
        seen.sites > 80 && seen.short > 10 && seen.relays > 10,
        "{seen:?}"
    );
}

#[test]
fn brute_force_finds_nothing_worse_2() {
    let seen = check(170..340, 150, false);
    assert!(
        seen.sites > 80 && seen.exclusive > 20 && seen.fed > 20,
        "{seen:?}"
    );
}

#[test]
fn brute_force_of_the_dense_solver_finds_nothing_worse() {
    let seen = check(340..440, 40, true);
    assert!(seen.sites > 20 && seen.short > 3, "{seen:?}");
}
