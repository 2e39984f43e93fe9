//! Batteries and panels: how long they last and how they end, against closed forms, published
//! examples, an integration of another kind, and by hand.

mod checks;
mod closed_forms;
mod properties;
mod published;

use farend::report;
use farend::site;
use farend::solve::Solver;
use farend::study::{self, Study};
use serde_json::Value;

/// One supply with its battery, one run of some ohms a leg, one device.
#[derive(Clone)]
pub(crate) struct Bench {
    pub(crate) battery: Vec<(&'static str, String)>,
    /// Further keys of the supply, and further tables.
    pub(crate) supply: String,
    pub(crate) device: String,
    pub(crate) leg: &'static str,
    pub(crate) more: String,
}

impl Bench {
    /// 10 Ah at 20 h, nothing derated, 12.8 V to 11.2 V, no ohms anywhere.
    pub(crate) fn drawing(draw: &str) -> Self {
        let plain = [
            ("capacity", "\"10 Ah\""),
            ("rate", "\"20 h\""),
            ("cells", "6"),
            ("cold_capacity", "\"100 %\""),
            ("aged", "\"100 %\""),
            ("usable", "\"100 %\""),
            ("peukert", "1.2"),
            ("full", "\"12.8 V\""),
            ("empty", "\"11.2 V\""),
            ("resistance", "\"0 ohm\""),
            ("fuse", "\"10 A\""),
        ];
        Self {
            battery: plain.map(|(k, v)| (k, v.to_owned())).to_vec(),
            supply: String::new(),
            device: format!("draw = {{ idle = \"{draw}\" }}"),
            leg: "0 ohm",
            more: String::new(),
        }
    }

    pub(crate) fn with(mut self, key: &'static str, value: &str) -> Self {
        self.battery.retain(|(k, _)| *k != key);
        self.battery.push((key, value.to_owned()));
        self
    }

    pub(crate) fn text(&self) -> String {
        let battery: Vec<String> = self
            .battery
            .iter()
            .map(|(k, v)| format!("{k} = {v}\n"))
            .collect();
        format!(
            "format = 1\n[supply.psu]\nvoltage = \"12 V\"\n{}\n[supply.psu.battery]\n{}\n[device.hub]\n{}\n[run.W1]\nfrom = \"psu\"\nto = \"hub\"\nresistance = \"{}\"\n{}",
            self.supply,
            battery.concat(),
            self.device,
            self.leg,
            self.more
        )
    }

    #[track_caller]
    pub(crate) fn solved(&self) -> Solved {
        Solved::of(&self.text())
    }
}

/// A site's JSON.
pub(crate) struct Solved(pub(crate) Value);

impl Solved {
    #[track_caller]
    pub(crate) fn of(text: &str) -> Self {
        let site = site::read(text).unwrap_or_else(|errors| panic!("{errors:?}\n{text}"));
        let study = Study::of(&site, &mut Solver::new());
        let json = report::json("bench", &site, &study, &[]).unwrap();
        Self(serde_json::from_str(&json).unwrap())
    }

    #[track_caller]
    pub(crate) fn number(&self, key: &str) -> f64 {
        let value = &self.0["batteries"][0][key];
        value.as_f64().unwrap_or_else(|| panic!("{key} is {value}"))
    }

    pub(crate) fn ends_by(&self) -> &str {
        self.0["batteries"][0]["ends_by"]
            .as_str()
            .unwrap_or("never")
    }

    /// Volts of the hub at the end.
    pub(crate) fn hub(&self) -> Option<f64> {
        self.0["batteries"][0]["devices"][0]["end_volts"].as_f64()
    }

    pub(crate) fn finding(&self, code: &str) -> Option<&Value> {
        let all = self.0["findings"].as_array().unwrap();
        all.iter().find(|f| f["code"] == code)
    }
}

/// The texts of the fixes of a finding.
pub(crate) fn fixes(text: &str, code: &str) -> Vec<String> {
    let site = site::read(text).unwrap();
    let mut solver = Solver::new();
    let study = Study::of(&site, &mut solver);
    let judged = study
        .findings
        .iter()
        .find(|j| j.finding.code == code)
        .unwrap();
    let fixes = study::fixes(&site, &study, &judged.finding, &mut solver);
    fixes.into_iter().map(|fix| fix.text).collect()
}
