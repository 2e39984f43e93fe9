//! The layout that a person typed, where the document cannot print it again: line ends of Windows, a
//! byte order mark, a last line without an end, dotted keys of several tables in turn, blanks around
//! dots, quotes that come and go. What changed is then carried over to the lines as typed.

use std::collections::{HashMap, VecDeque};
use std::ops::Range;

use similar::{Algorithm, DiffOp, DiffTag, capture_diff_slices};

/// A text, and what its document prints of it.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// A byte order mark, or nothing.
    mark: &'static str,
    /// What follows it.
    typed: String,
    printed: String,
}

/// What becomes of a typed line.
enum Fate {
    Stays,
    /// Other lines take its place; none where it goes.
    Becomes(Vec<String>),
}

impl Layout {
    /// The layout of a text, if its document prints another.
    pub(super) fn of(typed: &str, printed: &str) -> Option<Self> {
        let (mark, text) = match typed.strip_prefix(BOM) {
            Some(text) => (BOM, text),
            None => ("", typed),
        };
        (typed != printed).then(|| Self {
            mark,
            typed: text.to_owned(),
            printed: printed.to_owned(),
        })
    }

    /// The typed text with what the document prints differently by now; that print itself where the
    /// two would not mean the same.
    pub(super) fn carry(&self, now: &str) -> String {
        let means = |text: &str| toml::from_str::<toml::Table>(text).ok();
        let text = if now == self.printed {
            self.typed.clone()
        } else {
            self.carried(now)
                .filter(|text| means(text) == means(now))
                .unwrap_or_else(|| now.to_owned())
        };
        format!("{}{text}", self.mark)
    }

    fn carried(&self, now: &str) -> Option<String> {
        let typed: Vec<&str> = self.typed.split_inclusive('\n').collect();
        let printed: Vec<&str> = self.printed.lines().collect();
        let now: Vec<&str> = now.lines().collect();
        let places = places(&typed, &printed);
        let mut fates: Vec<Fate> = typed.iter().map(|_| Fate::Stays).collect();
        let mut behind: Vec<Vec<String>> = vec![Vec::new(); typed.len()];
        let mut before = Vec::new();
        for (old, new) in changes(&printed, &now) {
            let owned = |lines: &[&str]| lines.iter().map(|l| (*l).to_owned()).collect::<Vec<_>>();
            if old.len() == new.len() {
                for (p, n) in old.zip(new) {
                    let place = places[p]?;
                    let line = amended(body(typed[place]), printed[p], now[n]);
                    fates[place] = Fate::Becomes(vec![line]);
                }
            } else if old.is_empty() {
                let above = printed[..old.start]
                    .iter()
                    .zip(&places)
                    .rposition(|(_, p)| p.is_some());
                match above.and_then(|p| places[p]) {
                    Some(place) => behind[place].extend(owned(&now[new])),
                    None => before.extend(owned(&now[new])),
                }
            } else {
                let mut lines = owned(&now[new]);
                for p in old {
                    fates[places[p]?] = Fate::Becomes(std::mem::take(&mut lines));
                }
            }
        }
        let first = typed.first().copied().unwrap_or_default();
        let end = if first.ends_with("\r\n") {
            "\r\n"
        } else {
            "\n"
        };
        let mut text = String::new();
        let mut put = |line: &str, its_end: &str| {
            if !text.is_empty() && !text.ends_with('\n') {
                text.push_str(end);
            }
            text.push_str(line);
            text.push_str(its_end);
        };
        before.iter().for_each(|line| put(line, end));
        for ((line, fate), behind) in typed.iter().zip(fates).zip(behind) {
            let own_end = &line[body(line).len()..];
            match fate {
                Fate::Stays => put(body(line), own_end),
                Fate::Becomes(lines) => {
                    if let Some((last, others)) = lines.split_last() {
                        others.iter().for_each(|line| put(line, end));
                        put(last, own_end);
                    }
                }
            }
            behind.iter().for_each(|line| put(line, end));
        }
        Some(text)
    }
}

const BOM: &str = "\u{feff}";

/// A line without its end.
fn body(line: &str) -> &str {
    let line = line.strip_suffix('\n').unwrap_or(line);
    line.strip_suffix('\r').unwrap_or(line)
}

/// For each printed line the typed one that it stands for: the same but for blanks and quotes.
fn places(typed: &[&str], printed: &[&str]) -> Vec<Option<usize>> {
    let bare = |line: &str| {
        line.chars()
            .filter(|c| !c.is_whitespace() && !['"', '\''].contains(c))
            .collect::<String>()
    };
    let mut waiting: HashMap<String, VecDeque<usize>> = HashMap::new();
    for (place, line) in typed.iter().enumerate() {
        waiting.entry(bare(line)).or_default().push_back(place);
    }
    printed
        .iter()
        .map(|line| waiting.get_mut(&bare(line))?.pop_front())
        .collect()
}

/// A typed line with what differs between two prints of it; the second print where that is not to
/// be found in it.
fn amended(typed: &str, printed: &str, now: &str) -> String {
    let same = printed
        .char_indices()
        .zip(now.chars())
        .find(|((_, a), b)| a != b)
        .map_or(printed.len().min(now.len()), |((at, _), _)| at);
    match typed.strip_suffix(&printed[same..]) {
        Some(head) if same > 0 => format!("{head}{}", &now[same..]),
        _ => now.to_owned(),
    }
}

/// Where two texts differ: lines of the first, and those of the second in their place.
fn changes(a: &[&str], b: &[&str]) -> Vec<(Range<usize>, Range<usize>)> {
    capture_diff_slices(Algorithm::Patience, a, b)
        .iter()
        .map(DiffOp::as_tag_tuple)
        .filter(|(tag, ..)| *tag != DiffTag::Equal)
        .map(|(_, old, new)| (old, new))
        .collect()
}

#[cfg(test)]
mod tests {
    use rstest::rstest;

    use crate::site::{Edit, Project};

    const PLAIN: &str = "format = 1\n[supply.psu]\nvoltage = \"24 V\" # no load\n[device.hub]\ndraw.idle = \"4 W\"\n[run.W1]\nfrom = \"psu\"\nto = \"hub\"\ncable = \"18/2\"\nlength = \"100 ft\"\n";

    /// Whatever the layout, a changed length changes its own characters and no others.
    #[rstest]
    #[case::plain(PLAIN.to_owned())]
    #[case::windows(PLAIN.replace('\n', "\r\n"))]
    #[case::byte_order_mark(format!("\u{feff}{PLAIN}"))]
    #[case::no_last_end(PLAIN.trim_end().to_owned())]
    #[case::all_three(format!("\u{feff}{}", PLAIN.trim_end().replace('\n', "\r\n")))]
    #[case::dotted_in_turn(String::from(
        "format = 1\nsite.name = \"mix\"\ndesign.hot = \"40 C\" # hot\nsite . units = \"us\"\nsupply.psu.voltage = \"24 V\"\n\ndevice.hub.draw.idle = \"4 W\"\n\"supply\".\"psu\".'current' = \"2 A\"\nrun.W1.from = \"psu\"\nrun.W1.to = \"hub\"\nrun.W1.cable = \"18/2\"\nrun . \"W1\" . length   =  \"100 ft\"   # one way\ndesign.cold = \"0 C\"\n"
    ))]
    #[case::quoted_headers(PLAIN.replace(
        "[device.hub]",
        "[supply.\"psu\".output.\"o1\"]\ncurrent = \"1 A\"\n[ device . \"hub\" ] # dev"
    ))]
    fn only_what_was_edited_changes(#[case] typed: String) {
        let mut project = Project::open(&typed).unwrap();
        assert_eq!(project.text(), typed);
        let longer = Edit::set("run", "W1", "length", "121 ft 3 in");
        project.apply(&longer).unwrap();
        assert_eq!(project.text(), typed.replace("100 ft", "121 ft 3 in"));
        project.undo();
        assert_eq!(project.text(), typed);
    }

    #[test]
    fn what_comes_and_goes_keeps_the_line_ends_of_the_file() {
        let typed = PLAIN.replace('\n', "\r\n");
        let mut project = Project::open(&typed).unwrap();
        let set = Edit::set("run", "W1", "splices", "2");
        project.apply(&set).unwrap();
        assert_eq!(project.text(), format!("{typed}splices = 2\r\n"));
        let clear = Edit::set("run", "W1", "splices", "");
        project.apply(&clear).unwrap();
        assert_eq!(project.text(), typed);
    }
}
