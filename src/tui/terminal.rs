//! The terminal: taken over, and given back whatever happens.

use std::io::{self, stdout};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
};
use crossterm::execute;
use ratatui::DefaultTerminal;
use signal_hook::consts::{SIGHUP, SIGTERM};

/// The terminal in full-screen use; dropping it gives it back.
pub(crate) struct Screen {
    /// Where to draw.
    pub(crate) terminal: DefaultTerminal,
    /// Signals that ask to leave, by number.
    asked: [(i32, Arc<AtomicBool>); 2],
}

impl Screen {
    /// Takes the terminal over: raw mode, its other screen, mouse and bracketed paste. A panic
    /// gives it back before the message is printed.
    pub(crate) fn take() -> io::Result<Self> {
        // This version of the terminal library resets every attribute where NO_COLOR is set and
        // a colour is written; the themes without colour write none.
        crossterm::style::force_color_output(true);
        let hook = std::panic::take_hook();
        std::panic::set_hook(Box::new(move |panic| {
            execute!(stdout(), DisableBracketedPaste, DisableMouseCapture).ok();
            hook(panic);
        }));
        let asked = [SIGTERM, SIGHUP].map(|signal| (signal, Arc::new(AtomicBool::new(false))));
        for (signal, flag) in &asked {
            signal_hook::flag::register(*signal, Arc::clone(flag))?;
        }
        let terminal = ratatui::try_init()?;
        let screen = Self { terminal, asked };
        execute!(stdout(), EnableMouseCapture, EnableBracketedPaste)?;
        Ok(screen)
    }

    /// The signal that asked to leave, if one did.
    pub(crate) fn asked_to_leave(&self) -> Option<i32> {
        self.asked
            .iter()
            .find(|(_, flag)| flag.load(Ordering::Relaxed))
            .map(|(signal, _)| *signal)
    }
}

impl Drop for Screen {
    fn drop(&mut self) {
        execute!(stdout(), DisableBracketedPaste, DisableMouseCapture).ok();
        ratatui::restore();
    }
}
