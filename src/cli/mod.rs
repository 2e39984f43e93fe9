//! The command line: one file a verb.

mod check;
mod deck;
mod demo;
mod explain;
mod open;
mod report;
mod schema;
mod size;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anstream::eprint;
use clap::{Parser, Subcommand};

use crate::diagnostic::{self, InputError};
use crate::site::{self, Project, Site};
use crate::store;

/// How a call ended, as its exit status.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum End {
    /// No stop and no fail.
    Clean = 0,
    /// At least one stop or fail.
    Findings = 1,
    /// The call or an input could not be used.
    Unusable = 2,
    /// Reading or writing failed.
    Io = 3,
}

impl From<End> for ExitCode {
    fn from(end: End) -> Self {
        Self::from(end as u8)
    }
}

/// Far-end volts, return currents and cable sizes of low-voltage access-control wiring.
#[derive(Parser, Debug)]
#[command(version, args_conflicts_with_subcommands = true, after_help = AFTER)]
struct Call {
    /// Site file to open full-screen; without one, a built-in demo or a new site
    site: Option<PathBuf>,
    #[command(subcommand)]
    verb: Option<Verb>,
}

const AFTER: &str = "Exit status: 0 no stop and no fail; 1 at least one; 2 the call or an input could not be used; 3 reading or writing failed.
Data goes to standard output, words to standard error. NO_COLOR turns colours off.
These figures help to plan low-voltage wiring; local code and a licensed person decide.";

#[derive(Subcommand, Debug)]
enum Verb {
    /// Solve every case and corner and print the findings
    Check {
        /// Site files
        #[arg(required_unless_present = "explain")]
        sites: Vec<PathBuf>,
        /// One JSON object a line for each site
        #[arg(long)]
        json: bool,
        /// File of the same site as it was bid: what differs is noted
        #[arg(long, value_name = "FILE")]
        bid: Option<PathBuf>,
        /// Instead, say what the check of this code asks, with its formula and an example
        #[arg(long, value_name = "CODE", conflicts_with_all = ["sites", "json", "bid"])]
        explain: Option<String>,
    },
    /// Find the cheapest cables with which every case and corner passes
    Size {
        /// Site file
        site: PathBuf,
        /// One JSON object
        #[arg(long)]
        json: bool,
        /// Save the cables into the site file; comments and layout stay
        #[arg(long)]
        write: bool,
        /// Seconds after which the best so far is taken
        #[arg(long, default_value_t = 20.0, value_name = "N")]
        seconds: f64,
        /// Show every choice of every run, re-solved with the rest as sized
        #[arg(long, conflicts_with = "json")]
        why: bool,
        /// Instead, show how far this run may go in each cable, as the site stands
        #[arg(long, value_name = "RUN", conflicts_with_all = ["json", "write", "why"])]
        longest: Option<String>,
    },
    /// Print the network of one case and corner as a SPICE deck
    Deck {
        /// Site file
        site: PathBuf,
        /// Case, or a unique start of its name
        #[arg(long)]
        case: String,
        /// nominal, low, high or heavy
        #[arg(long)]
        corner: String,
    },
    /// Write the take-off, the wire schedule and the volts to a file
    Report {
        /// Site file
        site: PathBuf,
        /// File to write; its ending says how: .xlsx, .csv or .txt
        #[arg(long)]
        out: PathBuf,
        /// Table of a .csv file: take-off, cuts, spools, wires, volts, alternates, findings or cautions
        #[arg(long)]
        table: Option<String>,
        /// Seconds after which the cables of each alternate are taken as found so far
        #[arg(long, default_value_t = 3.0, value_name = "N")]
        seconds: f64,
        /// File of the same site as it was bid: what differs stands among the findings
        #[arg(long, value_name = "FILE")]
        bid: Option<PathBuf>,
    },
    /// Print the JSON Schema of the site file, for editors that complete keys
    Schema,
    /// List the built-in sites, or print one
    Demo {
        /// Name of a built-in site
        name: Option<String>,
    },
}

/// Runs one call of the program.
///
/// # Errors
/// Where reading or writing fails in a way that no verb answers itself.
pub fn run() -> anyhow::Result<End> {
    let call = match Call::try_parse() {
        Ok(call) => call,
        Err(error) => {
            error.print().ok();
            return Ok(if error.use_stderr() {
                End::Unusable
            } else {
                End::Clean
            });
        }
    };
    match call.verb {
        None => open::open(call.site.as_deref()),
        Some(Verb::Check {
            explain: Some(code),
            ..
        }) => explain::explain(&code),
        Some(Verb::Check {
            sites, json, bid, ..
        }) => check::check(&sites, json, bid.as_deref()),
        Some(Verb::Size {
            site,
            longest: Some(run),
            ..
        }) => size::longest(&site, &run),
        Some(Verb::Size {
            site,
            json,
            write,
            seconds,
            why,
            longest: None,
        }) => size::size(&site, seconds, &size::Wants { json, write, why }),
        Some(Verb::Deck { site, case, corner }) => deck::deck(&site, &case, &corner),
        Some(Verb::Report {
            site,
            out,
            table,
            seconds,
            bid,
        }) => {
            let choices = (table.as_deref(), seconds);
            report::report(&site, &out, choices, bid.as_deref())
        }
        Some(Verb::Schema) => schema::schema(),
        Some(Verb::Demo { name }) => demo::demo(name.as_deref()),
    }
}

/// Why a file cannot be used, in words for standard error.
#[derive(Debug)]
struct Refusal {
    end: End,
    words: String,
}

impl Refusal {
    fn print(self) -> End {
        eprint!("{}", self.words);
        self.end
    }
}

/// Reads a text.
fn text_of(path: &Path) -> Result<String, Refusal> {
    let shown = diagnostic::clean(&path.display().to_string());
    store::read(path).map_err(|error| match error {
        store::ReadError::Io(error) => Refusal {
            end: End::Io,
            words: format!("error: cannot read {shown}: {error}\n"),
        },
        store::ReadError::NotText(byte) => {
            let place = place_of(path, byte);
            Refusal {
                end: End::Unusable,
                words: format!(
                    "error: byte {byte} is not UTF-8 text\n --> {shown}{place}\n  = help: save the file as UTF-8\n"
                ),
            }
        }
        store::ReadError::TooLarge => Refusal {
            end: End::Unusable,
            words: format!(
                "error: {shown} is larger than {} MiB, more than any site file\n",
                site::MAX_BYTES >> 20
            ),
        },
    })
}

/// Line and column of a byte that is no text, where the file can be read a second time.
fn place_of(path: &Path, byte: usize) -> String {
    let bytes = if path == Path::new("-") {
        Vec::new()
    } else {
        std::fs::read(path).unwrap_or_default()
    };
    let Some(Ok(before)) = bytes.get(..byte).map(std::str::from_utf8) else {
        return String::new();
    };
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().map_or(0, |l| l.chars().count()) + 1;
    format!(":{line}:{column}")
}

/// Reads a site; what is refused names every mistake of its file.
fn site_of(path: &Path) -> Result<Site, Refusal> {
    site_in(path, &text_of(path)?)
}

/// Reads a site from the text of its file.
fn site_in(path: &Path, text: &str) -> Result<Site, Refusal> {
    site::read(text).map_err(|errors| refused(path, text, &errors))
}

/// The text of the bid's file, once it reads as a site.
fn bid_text(path: &Path) -> Result<String, Refusal> {
    let text = text_of(path)?;
    site_in(path, &text).map(|_| text)
}

/// Opens a site with its document; what is refused names every mistake of its file.
fn project_of(path: &Path) -> Result<Project, Refusal> {
    let text = text_of(path)?;
    Project::open(&text).map_err(|errors| refused(path, &text, &errors))
}

fn refused(path: &Path, text: &str, errors: &[InputError]) -> Refusal {
    let colour = colour_on(&std::io::stderr());
    Refusal {
        end: End::Unusable,
        words: diagnostic::render(errors, &path.display().to_string(), text, colour),
    }
}

/// Whether colours go to a stream: only to a terminal, and not where the person wants none.
fn colour_on(stream: &impl anstream::stream::RawStream) -> bool {
    anstream::AutoStream::choice(stream) != anstream::ColorChoice::Never
}
