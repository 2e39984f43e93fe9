//! Where the code has a subject, by the edition on file.

use crate::site::Site;
use crate::tables::{EDITIONS, sections};

/// The edition by which sections are cited where the file states none.
pub const ASSUMED_CODE: &str = "NEC 2023";

/// The code on file, or the one that is assumed.
pub fn code_of(site: &Site) -> &str {
    if site.code.trim().is_empty() {
        ASSUMED_CODE
    } else {
        site.code.trim()
    }
}

/// A text with its citations filled in: `NEC {topic}` becomes edition and section, and
/// `{code on file}` the edition with a word where it is assumed.
pub fn cited(site: &Site, text: &str) -> String {
    let stated = !site.code.trim().is_empty();
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('{') {
        let Some((topic, tail)) = after.split_once('}') else {
            break;
        };
        if topic == "code on file" {
            out += before;
            out += &if stated {
                code_of(site).to_owned()
            } else {
                format!("not stated, sections as in {ASSUMED_CODE}")
            };
        } else {
            out += before.strip_suffix("NEC ").unwrap_or(before);
            out += &reference(code_of(site), topic);
        }
        rest = tail;
    }
    out + rest
}

/// The source of a finding: citations filled in, and the edition on file with each that has none.
pub fn source(site: &Site, text: &str) -> String {
    let mut source = cited(site, text);
    let code = ["NEC ", "NFPA ", "IBC "]
        .iter()
        .any(|name| source.contains(name));
    if code && !source.contains(code_of(site)) {
        let stated = site.code.trim();
        source += "; code on file: ";
        source += if stated.is_empty() {
            "not stated"
        } else {
            stated
        };
    }
    source
}

/// Edition and section of a subject.
fn reference(code: &str, topic: &str) -> String {
    let Some(section) = sections().iter().find(|s| s.topic == topic) else {
        return format!("{code} on {topic}");
    };
    let newest = EDITIONS
        .iter()
        .rev()
        .find_map(|e| Some((*e, section.number(*e)?)));
    let (known, number) = newest.unwrap_or((2023, topic));
    match edition(code).map(|e| (e, section.number(e))) {
        Some((_, Some(number))) => format!("{code} {number}"),
        _ => format!("{code} on {topic}, number not checked; NEC {known} has it in {number}"),
    }
}

/// The year of an edition of the National Electrical Code, as people write it.
fn edition(code: &str) -> Option<u16> {
    let upper = code.to_uppercase();
    let national = upper.contains("NEC") || upper.contains("NFPA 70");
    let mut words = upper.split(|c: char| !c.is_ascii_digit());
    let year = words.find_map(|w| w.parse::<u16>().ok().filter(|y| EDITIONS.contains(y)))?;
    national.then_some(year)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(code: &str) -> Site {
        let text = format!("format = 1\n[site]\ncode = \"{code}\"\n");
        crate::site::read(&text).unwrap()
    }

    /// Numbers from the editions themselves: 725.121 became 725.60 in 2023, Table 300.5 became
    /// 300.5(A), and 2026 has an Article 721 for power sources.
    #[test]
    fn sections_follow_the_edition_on_file() {
        let cover = "by NEC {minimum cover}.";
        assert_eq!(cited(&site("NEC 2017"), cover), "by NEC 2017 Table 300.5.");
        assert_eq!(
            cited(&site("NEC 2023"), cover),
            "by NEC 2023 Table 300.5(A)."
        );
        assert_eq!(
            cited(&site("NFPA 70-2026"), "NEC {class 2 limits}"),
            "NFPA 70-2026 Article 721"
        );
    }

    #[test]
    fn an_edition_that_nobody_checked_is_said_to_be_unchecked() {
        for code in ["NEC 2026", "NEC 2014", "CEC 2021"] {
            assert_eq!(
                cited(&site(code), "NEC {minimum cover}"),
                format!(
                    "{code} on minimum cover, number not checked; NEC 2023 has it in Table 300.5(A)"
                )
            );
        }
    }

    #[test]
    fn a_silent_file_is_cited_by_the_assumed_edition() {
        let text = "Code: {code on file} (NEC {antenna mast})";
        assert_eq!(
            cited(&site(""), text),
            "Code: not stated, sections as in NEC 2023 (NEC 2023 810.21)"
        );
        assert_eq!(
            cited(&site("NEC 2020"), text),
            "Code: NEC 2020 (NEC 2020 810.21)"
        );
    }

    #[test]
    fn a_source_without_an_edition_is_told_the_one_on_file() {
        let table = "NEC Chapter 9 Table 8";
        assert_eq!(
            source(&site("NEC 2020"), table),
            "NEC Chapter 9 Table 8; code on file: NEC 2020"
        );
        assert_eq!(
            source(&site(""), table),
            "NEC Chapter 9 Table 8; code on file: not stated"
        );
        assert_eq!(source(&site("NEC 2020"), "Ohm's law"), "Ohm's law");
    }

    #[test]
    fn a_brace_without_its_end_stays_as_it_is() {
        assert_eq!(cited(&site(""), "a {b"), "a {b");
        assert_eq!(cited(&site(""), "no braces"), "no braces");
    }
}
