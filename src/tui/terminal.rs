//! The terminal: taken over, and given back whatever happens.

use std::io::{self, stdout};
use std::sync::Arc;
use std::sync::atomic::{AtomicI32, Ordering};
use std::thread;
use std::time::Duration;

use crossterm::event::{
    DisableBracketedPaste, DisableMouseCapture, EnableBracketedPaste, EnableMouseCapture,
};
use crossterm::execute;
use ratatui::DefaultTerminal;
use signal_hook::consts::{SIGHUP, SIGTERM};
use signal_hook::iterator::Signals;

/// How long the loop has to leave by itself once a signal asks for it.
const GRACE: Duration = Duration::from_secs(2);

/// The terminal in full-screen use; dropping it gives it back.
pub(crate) struct Screen {
    /// Where to draw.
    pub(crate) terminal: DefaultTerminal,
    /// Signal that asks to leave, by number; 0 for none.
    asked: Arc<AtomicI32>,
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
        let asked = Arc::new(AtomicI32::new(0));
        leave_on_signals(Arc::clone(&asked))?;
        let terminal = ratatui::try_init()?;
        let screen = Self { terminal, asked };
        execute!(stdout(), EnableMouseCapture, EnableBracketedPaste)?;
        Ok(screen)
    }

    /// The signal that asked to leave, if one did.
    pub(crate) fn asked_to_leave(&self) -> Option<i32> {
        match self.asked.load(Ordering::Relaxed) {
            0 => None,
            signal => Some(signal),
        }
    }
}

/// Notes signals that ask to leave, and sees to it that the program does.
///
/// Where the terminal has gone away, the terminal library reads its end for ever and the loop
/// never gets to look: then the signal takes its usual course from here.
fn leave_on_signals(asked: Arc<AtomicI32>) -> io::Result<()> {
    let mut signals = Signals::new([SIGTERM, SIGHUP])?;
    thread::spawn(move || {
        for signal in signals.forever() {
            asked.store(signal, Ordering::Relaxed);
            thread::sleep(GRACE);
            give_back();
            signal_hook::low_level::emulate_default_handler(signal).ok();
        }
    });
    Ok(())
}

/// Gives the terminal back, as far as it is still there.
fn give_back() {
    execute!(stdout(), DisableBracketedPaste, DisableMouseCapture).ok();
    ratatui::restore();
}

impl Drop for Screen {
    fn drop(&mut self) {
        give_back();
    }
}
