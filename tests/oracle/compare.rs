//! Every number of the program's JSON against the oracle's own.

use serde_json::Value;

use super::network::{
    CORNERS, Law, Net, bond_end, cases, has_common, has_minus, has_power, is_bond, is_whole,
    state_of, terminals,
};
use super::plan::{Case, Plan, Run};
use super::solve::{Point, solve};

/// How many rows were compared.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    pub(crate) solved: usize,
    pub(crate) unserved: usize,
}

/// What one row of the JSON is held against.
struct Sheet<'a> {
    plan: &'a Plan,
    case: &'a Case,
    net: &'a Net,
    point: &'a Point,
    differences: Vec<String>,
}

/// All differences between a plan's own numbers and the program's.
pub(crate) fn compare(plan: &Plan, json: &Value, rows: &mut Rows) -> Vec<String> {
    let mut differences = Vec::new();
    let mut found = json["cases"].as_array().unwrap().iter();
    for case in &cases(plan) {
        for corner in CORNERS {
            let at = format!("{} {}", case.name, corner.0);
            let Some(row) = found.next() else {
                return vec![format!("{at}: no such row")];
            };
            if row["name"] != case.name.as_str() || row["corner"] != corner.0 {
                differences.push(format!("{at}: {} {}", row["name"], row["corner"]));
            }
            let net = Net::of(plan, case, corner);
            let lines = match solve(&net, 1.0) {
                Ok(point) => {
                    rows.solved += 1;
                    let mut sheet = Sheet {
                        plan,
                        case,
                        net: &net,
                        point: &point,
                        differences: Vec::new(),
                    };
                    sheet.row(row);
                    sheet.differences
                }
                Err(served) => {
                    rows.unserved += 1;
                    unserved(row, served)
                }
            };
            differences.extend(lines.into_iter().map(|line| format!("{at}: {line}")));
        }
    }
    if found.next().is_some() {
        differences.push("more rows than cases and corners".to_owned());
    }
    differences
}

fn unserved(row: &Value, served: f64) -> Vec<String> {
    let mut lines = Vec::new();
    if row["operating_point"] != false {
        lines.push(format!("has an operating point, expected served {served}"));
        return lines;
    }
    match row["unserved"]["served"].as_f64() {
        Some(found) if (found - served).abs() <= 0.01 => {}
        found => lines.push(format!("served {found:?}, expected {served}")),
    }
    for list in ["supplies", "devices", "junctions", "runs", "earths"] {
        for thing in row[list].as_array().unwrap() {
            for (key, value) in thing.as_object().unwrap() {
                if !["id", "state"].contains(&key.as_str()) && !value.is_null() {
                    lines.push(format!("{} {key} is {value}", thing["id"]));
                }
            }
        }
    }
    lines
}

impl Sheet<'_> {
    fn expect(&mut self, thing: &Value, key: &str, expected: Option<f64>) {
        let found = thing.get(key);
        let agree = match (found.and_then(Value::as_f64), expected) {
            (Some(found), Some(expected)) => {
                let far = (found - expected).abs();
                far <= 1e-6 || far <= 2e-4 * expected.abs()
            }
            (None, None) => found.is_some(),
            _ => false,
        };
        if !agree {
            self.differences.push(format!(
                "{} {key} {found:?}, expected {expected:?}",
                thing["id"]
            ));
        }
    }

    /// Volts between two nodes, where they are joined.
    fn volts(&self, plus: &str, minus: &str) -> Option<f64> {
        let (plus, minus) = (self.net.at(plus), self.net.at(minus));
        let joined = self.point.group[plus] == self.point.group[minus];
        joined.then(|| self.point.volts[plus] - self.point.volts[minus])
    }

    /// Amps of a wire by name; none where it is open.
    fn wire(&self, key: &str) -> f64 {
        let place = self.net.wires.keys().position(|k| k == key);
        place.map_or(0.0, |i| self.point.wires[i])
    }

    /// Heat in a wire.
    fn heat(&self, key: &str) -> f64 {
        let ohms = self.net.wires.get(key).map_or(0.0, |w| w.ohms);
        self.wire(key).powi(2) * ohms
    }

    fn row(&mut self, row: &Value) {
        if row["operating_point"] != true {
            self.differences
                .push(format!("no operating point, {}", row["unserved"]));
            return;
        }
        if !row["unserved"].is_null() {
            self.differences.push("unserved is not null".to_owned());
        }
        let plan = self.plan;
        for (i, supply) in plan.supplies.iter().enumerate() {
            let found = &row["supplies"][i];
            let live = self.net.sources[i].live;
            let (plus, minus) = terminals(plan, &supply.name);
            let volts = self.volts(&plus, &minus).unwrap_or(0.0);
            let amps = if live { self.point.sources[i] } else { 0.0 };
            self.expect(found, "volts", Some(volts));
            self.expect(found, "amps", Some(amps));
            self.expect(found, "watts", Some(volts * amps));
        }
        for device in 0..plan.devices.len() {
            self.device(&row["devices"][device], device);
        }
        for (i, junction) in plan.junctions.iter().enumerate() {
            let (plus, minus) = terminals(plan, &junction.name);
            // Like a device, a junction that no supply reaches has no volts.
            let volts = if self.net.is_reached(&plus, &minus) {
                self.volts(&plus, &minus)
            } else {
                Some(0.0)
            };
            self.expect(&row["junctions"][i], "volts", volts);
        }
        for (i, run) in plan.runs.iter().enumerate() {
            self.run(&row["runs"][i], run);
        }
        for (i, (earth, _)) in plan.earths.iter().enumerate() {
            let amps = self.wire(&format!("soil {earth}"));
            self.expect(&row["earths"][i], "amps", Some(amps));
        }
    }

    fn device(&mut self, found: &Value, device: usize) {
        let (state, _) = state_of(self.plan, self.case, device);
        if found["state"] != state {
            self.differences.push(format!(
                "{} state {}, expected {state}",
                found["id"], found["state"]
            ));
        }
        let (plus, minus) = terminals(self.plan, &self.plan.devices[device].name);
        let live = self.net.device_live[device];
        let volts = if live {
            self.volts(&plus, &minus).unwrap()
        } else {
            0.0
        };
        let amps: f64 = (self.net.loads.iter().zip(&self.point.loads))
            .filter(|(load, _)| load.device == device)
            .map(|(load, amps)| match load.law {
                Law::Ohms(ohms) => volts / ohms,
                _ => *amps,
            })
            .sum();
        self.expect(found, "volts", Some(volts));
        self.expect(found, "amps", Some(amps));
        self.expect(found, "watts", Some(volts * amps));
        if live {
            let near = self.nearest(device);
            let near = near.map(|supply| terminals(self.plan, &supply).1);
            // Between separate networks there is no voltage to tell.
            if near
                .as_ref()
                .is_none_or(|n| self.volts(&minus, n).is_some())
            {
                let volts = near.and_then(|n| self.volts(&minus, &n));
                self.expect(found, "negative_volts", volts);
            }
        }
    }

    /// The supply the fewest fitted power runs away from a device, things on one another being one.
    fn nearest(&self, device: usize) -> Option<String> {
        let place = |thing: &str| {
            let mut at = thing.split('.').next().unwrap().to_owned();
            while let Some(host) = self.host(&at) {
                at = host;
            }
            at
        };
        let mut reached = vec![place(&self.plan.devices[device].name)];
        loop {
            let supply = (self.plan.supplies.iter()).find(|s| reached.contains(&place(&s.name)));
            if let Some(supply) = supply {
                return Some(supply.name.clone());
            }
            let mut more = reached.clone();
            let fitted = |r: &&Run| !r.unfitted || self.case.fitted.contains(&r.name);
            for run in (self.plan.runs.iter().filter(|r| has_power(r))).filter(fitted) {
                let (a, b) = (place(&run.from), place(&run.to));
                for (x, y) in [(&a, &b), (&b, &a)] {
                    if reached.contains(x) && !more.contains(y) {
                        more.push(y.clone());
                    }
                }
            }
            if more.len() == reached.len() {
                return None;
            }
            reached = more;
        }
    }

    fn host(&self, thing: &str) -> Option<String> {
        let plan = self.plan;
        let supply = plan.supplies.iter().find(|s| s.name == thing);
        let device = plan.devices.iter().find(|d| d.name == thing);
        let junction = plan.junctions.iter().find(|j| j.name == thing);
        supply
            .and_then(|s| s.on.clone())
            .or(device.and_then(|d| d.on.clone()))
            .or(junction.and_then(|j| j.on.clone()))
    }

    fn run(&mut self, found: &Value, run: &Run) {
        let (plan, name) = (self.plan, &run.name);
        if is_bond(run) {
            let whole = is_whole(self.case, run, "bond");
            let drop = self.volts(&bond_end(plan, &run.from), &bond_end(plan, &run.to));
            let bond = format!("{name}.bond");
            self.expect(found, "amps", Some(self.wire(&bond)));
            self.expect(found, "drop_volts", drop.filter(|_| whole));
            self.expect(found, "loss_watts", Some(self.heat(&bond)));
            for key in ["return_amps", "common_amps", "plus_drop", "minus_drop"] {
                self.expect(found, key, None);
            }
            return;
        }
        let (plus_key, minus_key) = (format!("{name}.plus"), format!("{name}.minus"));
        let common_key = format!("{name}.common");
        let power = has_power(run);
        self.expect(found, "amps", power.then(|| self.wire(&plus_key)));
        // From `to` back to `from`: against the direction of the wire.
        let back = has_minus(run).then(|| -self.wire(&minus_key));
        self.expect(found, "return_amps", back);
        let common = has_common(run).then(|| -self.wire(&common_key));
        self.expect(found, "common_amps", common);
        if !power {
            for key in ["plus_drop", "minus_drop", "drop_volts"] {
                self.expect(found, key, None);
            }
        } else if has_minus(run) {
            let (from, to) = (terminals(plan, &run.from), terminals(plan, &run.to));
            let whole = is_whole(self.case, run, "plus") && is_whole(self.case, run, "minus");
            let plus = self.volts(&from.0, &to.0).filter(|_| whole);
            let minus = self.volts(&to.1, &from.1).filter(|_| whole);
            self.expect(found, "plus_drop", plus);
            self.expect(found, "minus_drop", minus);
            let drop = plus.zip(minus).map(|(p, m)| p + m);
            self.expect(found, "drop_volts", drop);
        }
        let legs = [plus_key, minus_key, common_key, format!("{name}.shield")];
        let heat = legs.iter().map(|key| self.heat(key)).sum();
        self.expect(found, "loss_watts", Some(heat));
    }
}
