//! Reads what a line's column `fittings` says: "flush + 2 elbow + gate_valve".

use crate::fittings::{ENTRANCES, FITTINGS, entrance, fitting};

/// Where a pipe ends in still water.
const EXIT: &str = "exit";

/// More of one kind in one piece of a pipe is a slip of the pen.
const MOST: u32 = 1000;

/// The sum of the loss coefficients of these fittings, on the velocity in a pipe of this bore.
///
/// # Errors
/// A name that is no fitting or a count that is none, in words.
pub(crate) fn coefficient(text: &str, bore: f64) -> Result<f64, String> {
    if text.trim().is_empty() {
        return Ok(0.0);
    }
    text.split(['+', ',']).map(|part| one_kind(part, bore)).sum()
}

/// Every name that may stand there.
pub(crate) fn names() -> impl Iterator<Item = &'static str> {
    ENTRANCES.iter().chain(FITTINGS).copied().chain([EXIT])
}

/// `2 elbow`, `2 x elbow`, `2 elbows`, `gate valve`.
fn one_kind(part: &str, bore: f64) -> Result<f64, String> {
    let part = part.trim();
    let digits = part.bytes().take_while(u8::is_ascii_digit).count();
    let (count, rest) = part.split_at(digits);
    let count = match count {
        "" => 1,
        count => count
            .parse()
            .ok()
            .filter(|count| *count <= MOST)
            .ok_or_else(|| format!("`{part}`: at most {MOST} of one kind in a piece"))?,
    };
    let rest = rest.trim_start();
    let rest = if digits > 0 {
        rest.strip_prefix('×').or_else(|| rest.strip_prefix("x ")).unwrap_or(rest)
    } else {
        rest
    };
    let name = rest.split([' ', '-', '_']).filter(|word| !word.is_empty()).collect::<Vec<_>>();
    let name = name.join("_").to_lowercase();
    let one = known(&name, bore)
        .or_else(|| known(name.strip_suffix('s')?, bore))
        .ok_or_else(|| unknown(part, &name))?;
    Ok(f64::from(count) * one)
}

/// The coefficient of one fitting or entrance of this name.
#[allow(clippy::cast_precision_loss)] // The lists have a dozen entries.
fn known(name: &str, bore: f64) -> Option<f64> {
    let place = |names: &[&str]| names.iter().position(|known| *known == name);
    if let Some(at) = place(FITTINGS) {
        return Some(fitting(at as f64, bore));
    }
    if let Some(at) = place(ENTRANCES) {
        return Some(entrance(at as f64));
    }
    (name == EXIT).then_some(1.0)
}

fn unknown(part: &str, name: &str) -> String {
    if name.is_empty() {
        return format!("`{part}` names no fitting; write such as `2 elbow + gate_valve`");
    }
    let near = forebay_units::nearest(name, names());
    let near = near.first().map_or(".".to_owned(), |near| format!("; did you mean {near}?"));
    let all = names().collect::<Vec<_>>().join(", ");
    format!(
        "`{part}` is no fitting that is known{near} It is one of {all}; anything else goes into \
         the column `loss` as a number"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fittings_are_counted_and_added() {
        let f_t = coefficient("elbow", 0.1).expect("known") / 30.0;
        for (text, ratio) in [
            ("2 elbow + gate_valve", 68.0),
            ("2 x elbows, gate valve", 68.0),
            ("3×Ball-Valve", 9.0),
            ("", 0.0),
        ] {
            let k = coefficient(text, 0.1).expect("known");
            assert!((k - ratio * f_t).abs() < 1e-12, "{text}: {k}");
        }
        assert_eq!(coefficient("flush + exit", 0.3), Ok(1.5));
    }

    #[test]
    fn what_is_unknown_is_refused_with_the_choices() {
        let refused = |text| coefficient(text, 0.1).expect_err("refused");
        assert!(refused("2 elbo").contains("did you mean elbow? It is one of projecting, "));
        assert!(refused("a rounded thing").contains("known. It is one of projecting, "));
        assert!(refused("elbow +").contains("names no fitting"));
        assert!(refused("9999 elbow").contains("at most 1000"));
        assert!(refused("99999999999 elbow").contains("at most 1000"));
    }
}
