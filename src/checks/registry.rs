//! Every check and question by its code: what it asks, its formula, what it looks at, where it
//! comes from, and an example.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use serde::Deserialize;

use crate::checks::{ALL, Check, questions::check_of};
use crate::site::nearest;
use crate::tables::{Question, questions};

/// What a check looks at, and one example.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Example {
    inputs: String,
    example: String,
}

static EXAMPLES: LazyLock<BTreeMap<String, Example>> = LazyLock::new(|| {
    toml::from_str(include_str!("examples.toml")).expect("the examples read, as the tests prove")
});

/// A check, as it is explained to a person.
#[derive(Clone, Copy, Debug)]
pub struct Explained {
    /// Code, question, formula and source.
    pub check: Check,
    /// What of the file it looks at.
    pub inputs: &'static str,
    /// One example with numbers.
    pub example: &'static str,
    /// The question, where a person answers it and no number does.
    pub question: Option<&'static Question>,
}

/// Every check that computes, then every question, in the order of the documentation.
pub fn registry() -> impl Iterator<Item = Explained> {
    let computed = ALL.iter().map(|check| {
        let own = EXAMPLES.get(check.code);
        Explained {
            check: *check,
            inputs: own.map_or("", |e| &e.inputs),
            example: own.map_or("", |e| &e.example),
            question: None,
        }
    });
    let asked = questions().iter().map(|question| Explained {
        check: check_of(question),
        inputs: "the answer of a person who looked",
        example: "",
        question: Some(question),
    });
    computed.chain(asked)
}

/// The check of a code.
///
/// # Errors
/// The nearest code, if one is near enough to be meant.
pub fn explained(code: &str) -> Result<Explained, Option<String>> {
    let found = registry().find(|e| e.check.code == code);
    found.ok_or_else(|| nearest(code, registry().map(|e| e.check.code)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_check_says_what_it_looks_at_and_gives_an_example() {
        for one in registry() {
            let code = one.check.code;
            for text in [one.check.question, one.check.formula, one.check.source] {
                assert!(!text.trim().is_empty(), "{code}");
            }
            assert!(one.check.question.ends_with('?'), "{code}");
            assert!(!one.inputs.is_empty(), "{code}: inputs in examples.toml");
            assert!(
                one.question.is_some() || !one.example.is_empty(),
                "{code}: example in examples.toml"
            );
        }
    }

    #[test]
    fn every_example_belongs_to_a_check_and_no_code_stands_twice() {
        for code in EXAMPLES.keys() {
            assert!(ALL.iter().any(|c| c.code == code), "{code}");
        }
        let codes: Vec<&str> = registry().map(|e| e.check.code).collect();
        for (i, code) in codes.iter().enumerate() {
            assert!(!codes[..i].contains(code), "{code} stands twice");
        }
    }

    /// Reads `a + b x (c - d) / e ^ f`, words between the numbers left out.
    struct Sum<'t>(std::iter::Peekable<std::vec::IntoIter<&'t str>>);

    impl Sum<'_> {
        fn terms(&mut self) -> f64 {
            let mut sum = self.product();
            while let Some(sign) = self.0.next_if(|t| ["+", "-"].contains(t)) {
                let next = self.product();
                sum += if sign == "+" { next } else { -next };
            }
            sum
        }

        fn product(&mut self) -> f64 {
            let mut product = self.power();
            while let Some(sign) = self.0.next_if(|t| ["x", "/"].contains(t)) {
                let next = self.power();
                product = if sign == "x" {
                    product * next
                } else {
                    product / next
                };
            }
            product
        }

        fn power(&mut self) -> f64 {
            let base = match self.0.next().unwrap() {
                "(" => {
                    let inner = self.terms();
                    assert_eq!(self.0.next(), Some(")"));
                    inner
                }
                number => number.parse().unwrap(),
            };
            match self.0.next_if_eq(&"^") {
                Some(_) => base.powf(self.power()),
                None => base,
            }
        }
    }

    /// What a sum in words comes to; everything but numbers and signs is left out.
    fn value(text: &str) -> f64 {
        let spaced = text
            .replace('(', " ( ")
            .replace(')', " ) ")
            .replace('^', " ^ ");
        let of_sum = |t: &&str| t.parse::<f64>().is_ok() || "+-x/^()".contains(*t);
        let tokens: Vec<&str> = spaced.split_whitespace().filter(of_sum).collect();
        let mut sum = Sum(tokens.into_iter().peekable());
        let value = sum.terms();
        assert!(sum.0.next().is_none(), "not a sum: {text}");
        value
    }

    #[test]
    fn every_sum_of_an_example_comes_out_as_it_says() {
        let mut sums = 0;
        for (code, example) in EXAMPLES.iter() {
            for clause in example.example.split([';', ':', ',']) {
                let Some((left, right)) = clause.split_once(" = ") else {
                    continue;
                };
                if right.starts_with('"') {
                    continue;
                }
                let start = left.find(|c: char| c.is_ascii_digit() || c == '(').unwrap();
                let shown = right.split_whitespace().next().unwrap();
                let digits = shown.split_once('.').map_or(0, |(_, d)| d.len());
                let found = value(&left[start..]);
                let half = 0.51 * 10_f64.powi(-i32::try_from(digits).unwrap());
                let wanted: f64 = shown.parse().unwrap();
                assert!(
                    (found - wanted).abs() <= half,
                    "{code}: {left} = {found}, not {shown}"
                );
                sums += 1;
            }
        }
        assert!(sums > 40, "{sums}");
    }
}
