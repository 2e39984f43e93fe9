//! The number at the head of a value.

use super::error::ReadError;
use super::text::excerpt;

/// Parts a trimmed text into its leading number and whatever follows it.
///
/// # Errors
///
/// `NotFinite`, `DecimalComma` with the corrected spelling, or `NotANumber`.
pub(super) fn split_number(text: &str) -> Result<(f64, &str), ReadError> {
    let not_a_number = || ReadError::NotANumber {
        found: excerpt(text),
    };
    let (minus, body) = split_sign(text);
    if is_infinite_word(body) {
        return Err(ReadError::NotFinite {
            found: excerpt(text),
        });
    }
    let end = body
        .find(|c: char| !matches!(c, '0'..='9' | '.' | ','))
        .unwrap_or(body.len());
    let (numeral, rest) = body.split_at(end);
    if numeral.contains(',') {
        return Err(comma(text, minus, numeral, rest));
    }
    let (written, rest) = body.split_at(end + exponent_len(rest));
    let rest = rest.trim();
    if !numeral.contains(|c: char| c.is_ascii_digit())
        || rest.starts_with(|c: char| c.is_ascii_digit() || c == '_')
    {
        return Err(not_a_number());
    }
    let number: f64 = written.parse().map_err(|_bad| not_a_number())?;
    if !number.is_finite() {
        return Err(ReadError::NotFinite {
            found: excerpt(text),
        });
    }
    Ok((if minus { -number } else { number }, rest))
}

/// Takes a leading sign off; the typographic minus sign is one too.
fn split_sign(text: &str) -> (bool, &str) {
    if let Some(body) = text.strip_prefix(['-', '\u{2212}']) {
        return (true, body);
    }
    (false, text.strip_prefix('+').unwrap_or(text))
}

fn is_infinite_word(body: &str) -> bool {
    let is = |word: &str| {
        body.get(..word.len())
            .is_some_and(|head| head.eq_ignore_ascii_case(word))
    };
    is("inf") || is("nan") || body.starts_with('\u{221e}')
}

/// Returns the length in bytes of an exponent at the head of the text, 0 without one.
fn exponent_len(rest: &str) -> usize {
    let Some(after) = rest.strip_prefix(['e', 'E']) else {
        return 0;
    };
    let digits = after.strip_prefix(['-', '+']).unwrap_or(after);
    let count = digits.bytes().take_while(u8::is_ascii_digit).count();
    if count == 0 {
        0
    } else {
        rest.len() - digits.len() + count
    }
}

/// Explains a comma: a decimal one, one that parts thousands, or one that may be either.
fn comma(text: &str, minus: bool, numeral: &str, rest: &str) -> ReadError {
    let whole = numeral.replace(',', "");
    let (head, tail) = numeral.rsplit_once(',').unwrap_or((numeral, ""));
    let many = head.contains(',');
    let dots = numeral.matches('.').count();
    let corrected = match (many, dots) {
        (false, 0) if !tail.is_empty() => {
            format!("{}.{tail}", if head.is_empty() { "0" } else { head })
        }
        (true, 0) => whole.clone(),
        (_, 1) if tail.contains('.') => whole.clone(),
        (false, _) if !tail.contains('.') => format!("{}.{tail}", head.replace('.', "")),
        _ => {
            return ReadError::NotANumber {
                found: excerpt(text),
            };
        }
    };
    let thousands = !many
        && dots == 0
        && tail.len() == 3
        && (1..=3).contains(&head.len())
        && !head.starts_with('0');
    let sign = if minus { "-" } else { "" };
    ReadError::DecimalComma {
        found: excerpt(text),
        corrected: excerpt(&format!("{sign}{corrected}{rest}")),
        whole: thousands.then(|| excerpt(&format!("{sign}{whole}{rest}"))),
    }
}
