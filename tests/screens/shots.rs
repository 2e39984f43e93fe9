//! Whole screens against the files of `screenshots/`, which the README shows.

use farend::tui::Theme;
use rstest::rstest;

use super::{SIZES, YARD, drawn, golden, open, play, svg, text_of};

/// A script's last screen, at two sizes.
#[rstest]
#[case("home", "")]
#[case("edit", "/ W1 enter tab down*3 enter backspace*6 90")]
#[case("wrong-unit", "/ W1 enter tab down*3 enter backspace*2 V")]
#[case("pin", "/ strike enter p / W1 enter ]] / strike enter")]
#[case("work", "/ strike enter w")]
#[case("fixes", "shift-tab down*2 enter")]
#[case("help", "?")]
#[case("add", "/ jb1 enter a")]
#[case("delete", "/ jb1 enter d")]
#[case("held", "/ hub enter d")]
#[case("case-and-corner", "c oo / W7 enter tab")]
#[case("leave", "/ W1 enter ] q")]
#[case("budget", "2 down*2")]
#[case("take-off", "5")]
#[case("data", "3 down*2")]
#[case("questions", "/ hub enter A")]
#[case("cautions", "f2")]
#[case("findings", "7 down")]
#[case("alternates", "9 down")]
fn the_screen_is_the_one_on_file(#[case] name: &str, #[case] script: &str) {
    for (width, height) in [(80, 24), (160, 50)] {
        let mut state = open(YARD, Theme::FULL);
        play(&mut state, script);
        let text = text_of(&drawn(&mut state, width, height));
        golden(&format!("{name}-{width}x{height}.txt"), &text);
    }
}

/// The page of sizes, on the yard with prices and choices.
#[rstest]
#[case("sizes", "4 down")]
#[case("sizes-found", "z")]
#[case("sizes-taken", "p z y down")]
fn the_page_of_sizes_is_the_one_on_file(#[case] name: &str, #[case] script: &str) {
    for (width, height) in [(80, 24), (160, 50)] {
        let mut state = open(SIZES, Theme::FULL);
        play(&mut state, script);
        let text = text_of(&drawn(&mut state, width, height));
        golden(&format!("{name}-{width}x{height}.txt"), &text);
    }
    let mut state = open(SIZES, Theme::FULL);
    play(&mut state, script);
    golden(
        &format!("{name}.svg"),
        &svg::picture(&drawn(&mut state, 120, 36)),
    );
}

/// The same as pictures, at a size that reads well beside text.
#[rstest]
#[case("home", "")]
#[case("edit", "/ W1 enter tab down*3 enter backspace*6 90")]
#[case("pin", "/ strike enter p / W1 enter ]] / strike enter")]
#[case("work", "/ strike enter w")]
#[case("fixes", "shift-tab down*2 enter")]
#[case("help", "?")]
fn the_picture_is_the_one_on_file(#[case] name: &str, #[case] script: &str) {
    let mut state = open(YARD, Theme::FULL);
    play(&mut state, script);
    golden(
        &format!("{name}.svg"),
        &svg::picture(&drawn(&mut state, 120, 36)),
    );
}

#[test]
fn a_plain_terminal_gets_ascii_and_no_colour() {
    let theme = Theme {
        colour: false,
        ascii: true,
    };
    let mut state = open(YARD, theme);
    play(
        &mut state,
        "/ strike enter p / W1 enter ]] / strike enter tab",
    );
    for (width, height) in [(80, 24), (160, 50)] {
        let buffer = drawn(&mut state, width, height);
        let text = text_of(&buffer);
        assert!(text.is_ascii(), "{text}");
        for cell in &buffer.content {
            let plain = ratatui::style::Color::Reset;
            assert_eq!((cell.fg, cell.bg), (plain, plain), "{}", cell.symbol());
        }
        golden(&format!("ascii-{width}x{height}.txt"), &text);
    }
}
