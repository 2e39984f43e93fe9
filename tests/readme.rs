//! What the README says of the keys is the program's own table of keys.

use std::fs;
use std::path::Path;

use farend::tui::keys;

const START: &str = "| key | does |\n|---|---|\n";

fn table() -> String {
    let rows = keys::help().map(|(label, help)| format!("| `{label}` | {help} |\n"));
    START.to_owned() + &rows.collect::<String>()
}

#[test]
fn the_readme_lists_every_key() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let text = fs::read_to_string(&path).unwrap();
    let head = "## Keys\n\n";
    let (before, after) = text.split_once(head).unwrap();
    let (section, rest) = after.split_once("## ").unwrap();
    let wanted = format!(
        "{}\nA value is typed with its unit; a bare number takes the unit of its field. The network is solved again at every key that leaves a valid value.\n\n",
        table()
    );
    if std::env::var_os("UPDATE_GOLDEN").is_some() {
        fs::write(&path, format!("{before}{head}{wanted}## {rest}")).unwrap();
    } else {
        assert_eq!(section, wanted, "run the tests with UPDATE_GOLDEN=1");
    }
}
