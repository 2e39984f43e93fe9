//! Turns the tables from TOML, in which people read and write them, into JSON, which the program
//! reads in a tenth of the time at every start.

use std::error::Error;
use std::path::Path;
use std::{env, fs};

fn main() -> Result<(), Box<dyn Error>> {
    println!("cargo::rerun-if-changed=tables");
    let out = env::var("OUT_DIR")?;
    for entry in fs::read_dir("tables")? {
        let path = entry?.path();
        if path.extension().is_some_and(|end| end == "toml") {
            let table: toml::Table = toml::from_str(&fs::read_to_string(&path)?)
                .map_err(|error| format!("{}: {error}", path.display()))?;
            let name = path.with_extension("json");
            let name = name.file_name().ok_or("a table has a name")?;
            fs::write(Path::new(&out).join(name), serde_json::to_vec(&table)?)?;
        }
    }
    Ok(())
}
