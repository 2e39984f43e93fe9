//! `farend [SITE]`: the full-screen program.

use std::io::{self, IsTerminal as _};
use std::path::Path;

use anstream::{eprint, eprintln};

use crate::cli::{End, colour_on, text_of};
use crate::demo;
use crate::diagnostic;
use crate::site::Project;
use crate::tui::dialog::Dialog;
use crate::tui::{self, State, Theme};

/// Opens a site full-screen; without one, offers a new site and the built-in ones.
pub(crate) fn open(path: Option<&Path>) -> anyhow::Result<End> {
    let opened = match path.map(text_of).transpose() {
        Ok(opened) => opened,
        Err(refusal) => return Ok(refusal.print()),
    };
    let text = opened.as_deref().unwrap_or(demo::ALL[0].text);
    let project = match Project::open(text) {
        Ok(project) => project,
        Err(errors) => {
            let name = path.map_or_else(String::new, |p| p.display().to_string());
            eprint!(
                "{}",
                diagnostic::render(&errors, &name, text, colour_on(&io::stderr()))
            );
            return Ok(End::Unusable);
        }
    };
    if !(io::stdout().is_terminal() && io::stdin().is_terminal()) {
        eprintln!("error: the full screen needs a terminal; use 'farend check SITE' in scripts");
        return Ok(End::Unusable);
    }
    let theme = Theme::from_environment(|name| std::env::var(name).ok());
    let mut state = State::new(project, path.map(Path::to_owned), theme);
    if path.is_none() {
        state.dialog = Some(Dialog::Welcome { selected: 1 });
    }
    tui::run(state, opened)?;
    Ok(End::Clean)
}
