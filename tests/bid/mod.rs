//! What it takes to build a site: lengths, spools, wires, the bill, and the files they go to.

mod alternates;

use std::io::Cursor;
use std::process::Command;

use approx::assert_relative_eq;
use calamine::{Data, Reader, Xlsx};
use farend::alternates::{Watch, alternates};
use farend::report::{self, Cell, Sheet};
use farend::site::{self, Cable, Project, Site};
use farend::solve::Solver;
use farend::study::Study;
use farend::takeoff::TakeOff;
use farend::units::Measure;

fn read(text: &str) -> Site {
    site::read(text).unwrap_or_else(|errors| panic!("{errors:?}"))
}

fn sheets(text: &str) -> Vec<Sheet> {
    let project = Project::open(text).unwrap();
    let (site, mut solver) = (project.site(), Solver::new());
    let study = Study::of(site, &mut solver);
    let designs = alternates(&project, &mut solver, &Watch::NOBODY);
    report::sheets(site, &study, &TakeOff::of(site), &designs)
}

const YARD: &str = r#"format = 1
[site]
name = "=1+1 yard, invented"
units = "si"
currency = "EUR"
[design]
slack = "0 m"
waste = "5 %"
[cable."18/2 run"]
size = "18 AWG"
conductors = 2
price = "1.10 /m"
spools = ["152.4 m", "304.8 m"]
colours = ["red", "black"]
[cable."two in one"]
parts = ["22/6", "18/2"]
price = "3 /m"
[supply.psu]
voltage = "24 V"
[device.hub]
draw = { idle = "0.1 A" }
[device.reader]
draw = { idle = "0.1 A" }
[fuse.F1]
current = "2.5 A"
[run.W1]
from = "psu"
to = "hub"
cable = "18/2 run"
measured = "86.2 m"
risers = "5 m"
through = "F1"
splices = 2
[run.W2]
from = "hub"
to = "reader"
cable = "two in one"
length = "6 m"
carries = ["wiegand"]
signal_wires = 2
[run.W3]
from = "hub"
to = "reader"
shares = "W2"
part = 2
[[run.W3.wire]]
use = "plus"
colour = "=cmd|' /C calc'!A0"
label = "R+"
[labour]
rate = "85 /h"
[[part]]
item = "termination"
price = "0.40 each"
hours = "0.05 h"
[[part]]
item = "@box, wet"
count = 2
price = "40 each"
"#;

#[test]
fn cut_length_follows_the_worked_figures_of_the_trade() {
    // Common practice, no source: 85 m of route, 1.0 + 1.2 + 4.0 m of risers and slack make
    // 91.2 m in the drop; with 5 % of waste 95.8 m, so 96 m on the bill.
    let takeoff = TakeOff::of(&read(YARD));
    assert_relative_eq!(
        takeoff.cuts[0].electrical.base(),
        91.2,
        max_relative = 1e-12
    );
    assert_relative_eq!(takeoff.cuts[0].cut.base(), 96.0, max_relative = 1e-12);
}

#[test]
fn a_shared_jacket_is_bought_once_and_each_run_uses_its_own_part() {
    let site = read(YARD);
    let takeoff = TakeOff::of(&site);
    let bought: Vec<&str> = takeoff
        .cuts
        .iter()
        .map(|c| site.runs[c.run].name.as_str())
        .collect();
    assert_eq!(bought, ["W1", "W2"]);
    let inside: Vec<&str> = site
        .runs
        .iter()
        .map(|r| r.cable(&site).unwrap().name.as_str())
        .collect();
    assert_eq!(inside, ["18/2 run", "22/6", "18/2"]);
    assert_relative_eq!(site.runs[2].length.base(), 6.0);
}

#[test]
fn schedule_lists_every_conductor_that_the_runs_need_and_the_spare_ones() {
    let site = read(YARD);
    let takeoff = TakeOff::of(&site);
    for (i, run) in site.runs.iter().enumerate() {
        let used = takeoff.wires.iter().filter(|w| w.run == i && !w.is_spare());
        let needed = usize::try_from(Cable::conductors_for(run)).unwrap();
        assert_eq!(used.count(), needed, "{}", run.name);
    }
    // 22/6 and 18/2 hold eight conductors; Wiegand with a common and two signals take five, power two.
    assert_eq!(takeoff.wires.iter().filter(|w| w.is_spare()).count(), 1);
    let plus = takeoff.wires.iter().find(|w| w.label == "R+").unwrap();
    assert_eq!(plus.function, "plus");
    let first = &takeoff.wires[0];
    assert_eq!(
        (first.colour.as_deref(), first.through.as_str()),
        (Some("red"), "F1")
    );
}

#[test]
fn bill_counts_what_the_schedule_lists_and_prices_only_what_is_entered() {
    let site = read(YARD);
    let takeoff = TakeOff::of(&site);
    let line = |item: &str| takeoff.lines.iter().find(|l| l.item == item).unwrap();
    let used = takeoff.wires.iter().filter(|w| !w.is_spare()).count();
    assert_eq!(used, 9);
    assert_relative_eq!(line("termination").count, 18.0);
    assert_relative_eq!(line("label").count, 20.0);
    // Two splices in each leg of W1.
    assert_relative_eq!(line("splice").count, 4.0);
    assert_eq!(line("label").price, None);
    assert!(takeoff.total.unpriced.contains(&"label".to_owned()));
    // A whole spool of 152.4 m, 7 m of the other (6 m and 5 %), terminations and boxes.
    let material = 152.4 * 1.10 + 7.0 * 3.0 + 18.0 * 0.40 + 2.0 * 40.0;
    assert_relative_eq!(takeoff.total.material, material, max_relative = 1e-9);
    assert_relative_eq!(
        takeoff.total.labour.unwrap(),
        18.0 * 0.05 * 85.0,
        max_relative = 1e-9
    );
}

#[test]
fn the_bill_adds_up_to_material_and_labour() {
    let site = read(YARD);
    let total = TakeOff::of(&site).total;
    let bill = &sheets(YARD)[0];
    let costs = bill.rows.iter().filter_map(|row| match row[5] {
        Cell::Product(_, cost, _) => cost,
        _ => None,
    });
    assert_relative_eq!(costs.sum::<f64>(), total.money(), max_relative = 1e-12);
    assert!(total.labour.is_some());
    let row = |item: &str| {
        let named = |row: &&Vec<Cell>| row[0] == Cell::Text(item.to_owned());
        bill.rows.iter().find(named).unwrap()
    };
    assert_eq!(row("label")[5].shown(), "not priced");
    assert_eq!(row("labour")[2], Cell::Above(7, total.hours, 2));
}

#[test]
fn csv_reads_back_and_runs_no_formula() {
    for sheet in sheets(YARD) {
        let text = report::csv(&sheet);
        let mut rows = csv::Reader::from_reader(text.as_bytes());
        let rows: Vec<csv::StringRecord> = rows.records().map(Result::unwrap).collect();
        assert_eq!(rows.len(), sheet.rows.len(), "{}", sheet.name);
        for field in rows.iter().flatten() {
            let led = field.starts_with(['=', '+', '@']);
            assert!(!led, "{}: {field}", sheet.name);
        }
    }
}

#[test]
fn workbook_holds_numbers_as_numbers_totals_as_formulas_and_names_as_words() {
    let sheets = sheets(YARD);
    let bytes = report::xlsx(&sheets).unwrap();
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).unwrap();
    assert_eq!(book.sheet_names().len(), sheets.len());
    for sheet in &sheets {
        let page = book.worksheet_range(sheet.name).unwrap();
        let formulas = book.worksheet_formula(sheet.name).unwrap();
        for (r, row) in sheet.rows.iter().enumerate() {
            for (c, cell) in row.iter().enumerate() {
                let at = (u32::try_from(r + 1).unwrap(), u32::try_from(c).unwrap());
                let found = page.get_value(at).unwrap_or(&Data::Empty);
                let formula = formulas.get_value(at).cloned().unwrap_or_default();
                match cell {
                    Cell::Empty => assert_eq!(*found, Data::Empty),
                    Cell::Text(words) => {
                        assert_eq!(*found, Data::String(words.clone()));
                        assert_eq!(formula, "", "{words}");
                    }
                    Cell::Number(value, _) => assert_eq!(*found, Data::Float(*value)),
                    Cell::Product(_, Some(value), _) => {
                        assert_eq!(*found, Data::Float(*value));
                        assert!(formula.contains('*'), "{formula}");
                    }
                    // It counts nothing, and becomes a cost once a price is put in.
                    Cell::Product(_, None, _) => {
                        assert_eq!(*found, Data::String("not priced".to_owned()));
                        assert!(formula.starts_with("IF(ISNUMBER("), "{formula}");
                    }
                    Cell::Above(_, value, _) => {
                        assert_eq!(*found, Data::Float(*value));
                        assert!(formula.starts_with("SUM("), "{formula}");
                    }
                }
            }
        }
        let total = u32::try_from(sheet.rows.len() + 1).unwrap();
        for column in sheet.summed.iter().filter(|_| !sheet.rows.is_empty()) {
            let at = (total, u32::try_from(*column).unwrap());
            assert!(formulas.get_value(at).unwrap().contains("SUM("));
        }
    }
}

#[test]
fn report_is_written_by_the_ending_of_its_file() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("yard.toml");
    std::fs::write(&site, YARD).unwrap();
    let call = |out: &str| {
        let output = Command::new(env!("CARGO_BIN_EXE_farend"))
            .args(["report", "yard.toml", "--out", out])
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert_eq!(output.stdout, b"");
        output.status.code()
    };
    for out in ["a.xlsx", "a.csv", "a.txt"] {
        assert_eq!(call(out), Some(0), "{out}");
        assert!(folder.path().join(out).metadata().unwrap().len() > 100);
    }
    assert_eq!(call("a.pdf"), Some(2));
    assert_eq!(call("nowhere/a.csv"), Some(3));
    assert_eq!(std::fs::read_to_string(&site).unwrap(), YARD);
}
