//! Answers as people write them: `1,234 W`, `0,6 m3/s`, `v = 2.1 m / s`, `≈ 3.2e-3`.

use forebay_units::{Unit, UnitError};

/// A number as it was read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Number {
    pub(super) value: f64,
    /// Significant figures; zeros at the end of a whole number may be some, and count.
    pub(super) figures: usize,
    /// What one more in the last digit written would be.
    pub(super) last: f64,
}

/// What stands behind the number.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Behind {
    /// Nothing.
    Nothing,
    /// A unit.
    Unit(Unit),
    /// A word that several units claim.
    Several {
        /// The word.
        word: String,
        /// The units.
        units: Vec<Unit>,
    },
}

/// An answer that holds a number.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Written {
    /// The number; two where a mark may part thousands or decimals, thousands first.
    pub(super) numbers: Vec<Number>,
    pub(super) behind: Behind,
    /// What was made out of what was written, to be told; may be empty.
    pub(super) remark: String,
}

/// Words that stand for nothing in front of a number.
const BEFORE: &[&str] =
    &["approximately", "approx.", "approx", "about", "circa", "ca.", "ca", "around", "roughly"];

/// How units are spoken, and how they are read. What is longer comes first.
const SPOKEN: &[(&str, &str)] = &[
    ("cubic metres", "m^3"),
    ("cubic meters", "m^3"),
    ("cubic metre", "m^3"),
    ("cubic meter", "m^3"),
    ("square metres", "m^2"),
    ("square meters", "m^2"),
    ("cubic feet", "ft^3"),
    ("kilowatts", "kW"),
    ("kilowatt", "kW"),
    ("megawatts", "MW"),
    ("watts", "W"),
    ("watt", "W"),
    ("kilopascals", "kPa"),
    ("kilopascal", "kPa"),
    ("pascals", "Pa"),
    ("pascal", "Pa"),
    ("millimetres", "mm"),
    ("millimeters", "mm"),
    ("centimetres", "cm"),
    ("centimeters", "cm"),
    ("kilometres", "km"),
    ("kilometers", "km"),
    ("metres", "m"),
    ("meters", "m"),
    ("metre", "m"),
    ("meter", "m"),
    ("litres", "L"),
    ("liters", "L"),
    ("litre", "L"),
    ("liter", "L"),
    ("kilograms", "kg"),
    ("newtons", "N"),
    ("newton", "N"),
    ("volts", "V"),
    ("amps", "A"),
    ("amperes", "A"),
    ("ohms", "ohm"),
    ("radians", "rad"),
    ("degrees celsius", "degC"),
    ("deg c", "degC"),
    ("hours", "h"),
    ("hour", "h"),
    ("seconds", "s"),
    ("second", "s"),
    ("secs", "s"),
    ("sec", "s"),
];

/// Signs of money, and the code of the one currency that has it.
const CURRENCY_SIGNS: &[(&str, &str)] = &[("€", "EUR"), ("£", "GBP"), ("$", ""), ("¥", "")];

/// Endings that say from where a pressure counts.
const COUNTED_FROM: &[(&str, &str)] = &[
    ("(absolute)", "_abs"),
    ("absolute", "_abs"),
    ("(abs)", "_abs"),
    ("abs.", "_abs"),
    ("abs", "_abs"),
    ("(a)", "_abs"),
    ("(gauge)", "_gauge"),
    ("gauge", "_gauge"),
    ("(g)", "_gauge"),
];

/// Longer texts are no answer to a question for a number.
const LONGEST: usize = 200;

/// Reads an answer that should hold a number.
pub(super) fn read(text: &str) -> Result<Written, String> {
    if text.chars().count() > LONGEST {
        return Err("it is too long to be a number".to_owned());
    }
    let text: String = text
        .chars()
        .map(|c| match c {
            '\u{a0}' | '\u{2009}' | '\u{202f}' | '\t' => ' ',
            '−' | '–' => '-',
            other => other,
        })
        .collect();
    // `v = 2.1 m/s`: what stands behind the last equals sign is the answer.
    let text = text.rsplit(['=', '≈', '~']).next().unwrap_or_default().trim();
    // An uncertainty behind it is no part of it, but the unit is.
    let without = without_uncertainty(text);
    let mut text = without.trim();
    for word in BEFORE {
        let front = text.get(..word.len()).is_some_and(|front| front.eq_ignore_ascii_case(word));
        if front {
            text = text[word.len()..].trim_start();
            break;
        }
    }
    // A currency may stand in front.
    let (front, text) = leading_currency(text);
    let (numbers, length, remark) = number(text)?;
    let rest = text[length..].trim().trim_end_matches(['.', ';']).trim();
    let rest = if rest.is_empty() { front } else { rest };
    let (behind, unit_remark) = unit(rest)?;
    let remark = match (remark.is_empty(), unit_remark.is_empty()) {
        (false, false) => format!("{remark}; {unit_remark}"),
        _ => format!("{remark}{unit_remark}"),
    };
    Ok(Written { numbers, behind, remark })
}

fn without_uncertainty(text: &str) -> String {
    let Some((at, sign)) = ["±", "+/-", "+-"].iter().find_map(|s| Some((text.find(s)?, *s)))
    else {
        return text.to_owned();
    };
    let behind = text[at + sign.len()..].trim_start();
    let number = behind.find(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
    let unit = number.map_or("", |at| &behind[at..]);
    format!("{} {unit}", text[..at].trim_end())
}

fn leading_currency(text: &str) -> (&str, &str) {
    let end = text
        .find(|c: char| c.is_ascii_digit() || matches!(c, '-' | '+' | '.'))
        .unwrap_or(text.len());
    let front = text[..end].trim();
    let money = CURRENCY_SIGNS.iter().any(|(sign, _)| *sign == front)
        || (front.len() == 3 && forebay_units::Currency::by_code(front).is_some());
    if money { (front, &text[end..]) } else { ("", text) }
}

/// The number at the beginning of a text, its length in bytes, and a remark.
fn number(text: &str) -> Result<(Vec<Number>, usize, String), String> {
    let sign = text.len() - text.strip_prefix(['-', '+']).unwrap_or(text).len();
    let body = &text[sign..];
    let body_start = sign + (body.len() - body.trim_start().len());
    let body = body.trim_start();
    let mut length = 0;
    let bytes = body.as_bytes();
    while let Some(byte) = bytes.get(length) {
        let digits_follow = |n: usize| {
            (1..=n).all(|i| bytes.get(length + i).is_some_and(u8::is_ascii_digit))
                && !bytes.get(length + n + 1).is_some_and(u8::is_ascii_digit)
        };
        let part = match byte {
            b'0'..=b'9' => true,
            b'.' | b',' => bytes.get(length + 1).is_some_and(u8::is_ascii_digit),
            // Between thousands alone.
            b' ' | b'\'' | b'_' => length > 0 && digits_follow(3),
            _ => false,
        };
        // `5.` is five.
        if !part && matches!(byte, b'.') && length > 0 && !body[..length].contains('.') {
            length += 1;
            break;
        }
        if !part {
            break;
        }
        length += 1;
    }
    let mantissa = &body[..length];
    if !mantissa.bytes().any(|byte| byte.is_ascii_digit()) {
        return Err("it does not begin with a number".to_owned());
    }
    let (power, power_length) = power_of_ten(&body[length..])?;
    let negative = text.starts_with('-');
    let readings = readings(mantissa)?;
    let mut numbers = Vec::with_capacity(readings.len());
    for reading in &readings {
        numbers.push(number_of(reading, power, negative)?);
    }
    let remark = match readings.as_slice() {
        [_, other] => format!("`{mantissa}` may be {} or {other}", readings[0]),
        _ => String::new(),
    };
    Ok((numbers, body_start + length + power_length, remark))
}

/// What a number with marks in it may be, written plainly.
fn readings(mantissa: &str) -> Result<Vec<String>, String> {
    let text: String = mantissa.chars().filter(|c| !matches!(c, ' ' | '\'' | '_')).collect();
    let (points, commas) = (text.matches('.').count(), text.matches(',').count());
    let unclear = || Err(format!("`{mantissa}` is no number: its marks contradict one another"));
    let grouped = |text: &str, mark: char| {
        let mut groups = text.split(mark);
        groups.next().is_some_and(|first| (1..=3).contains(&first.len()))
            && groups.all(|group| group.len() == 3)
    };
    Ok(match (points, commas) {
        (_, 0) if points <= 1 => vec![text],
        (0, 1) => {
            let decimal = text.replace(',', ".");
            let thousands = grouped(&text, ',') && !text.starts_with('0');
            if thousands { vec![text.replace(',', ""), decimal] } else { vec![decimal] }
        }
        (0, _) if grouped(&text, ',') => vec![text.replace(',', "")],
        (_, 0) if grouped(&text, '.') => vec![text.replace('.', "")],
        (1, _) if text.rfind('.') > text.rfind(',') => {
            let whole = text.split('.').next().unwrap_or_default();
            if !grouped(whole, ',') {
                return unclear();
            }
            vec![text.replace(',', "")]
        }
        (_, 1) if text.rfind(',') > text.rfind('.') => {
            let whole = text.split(',').next().unwrap_or_default();
            if !grouped(whole, '.') {
                return unclear();
            }
            vec![text.replace('.', "").replace(',', ".")]
        }
        _ => return unclear(),
    })
}

/// A power of ten behind a number: `e-3`, `x10^3`, `· 10**-2`.
fn power_of_ten(text: &str) -> Result<(i32, usize), String> {
    let whole = |text: &str| {
        let sign = usize::from(text.starts_with(['-', '+']));
        let digits = text[sign..].bytes().take_while(u8::is_ascii_digit).count();
        (digits > 0).then(|| (text[..sign + digits].parse::<i32>(), sign + digits))
    };
    let far = || "its power of ten is beyond all use".to_owned();
    if let Some(rest) = text.strip_prefix(['e', 'E'])
        && let Some((power, length)) = whole(rest)
    {
        return Ok((power.ok().filter(|p| p.abs() < 100).ok_or_else(far)?, length + 1));
    }
    let rest = text.trim_start();
    let Some(times) = rest.strip_prefix(['x', 'X', '×', '*', '·', '⋅']) else {
        return Ok((0, 0));
    };
    let Some(ten) = times.trim_start().strip_prefix("10") else { return Ok((0, 0)) };
    let raised = ten.strip_prefix("**").or_else(|| ten.strip_prefix('^'));
    if let Some(raised) = raised
        && let Some((power, length)) = whole(raised.trim_start())
    {
        let read = text.len() - raised.trim_start().len() + length;
        return Ok((power.ok().filter(|p| p.abs() < 100).ok_or_else(far)?, read));
    }
    const RAISED: &str = "⁰¹²³⁴⁵⁶⁷⁸⁹";
    let (sign, digits) = match ten.strip_prefix('⁻') {
        Some(digits) => (-1, digits),
        None => (1, ten),
    };
    let mut power = 0;
    let mut read = text.len() - digits.len();
    for letter in digits.chars() {
        let Some(digit) = RAISED.chars().position(|raised| raised == letter) else { break };
        power = power * 10 + i32::try_from(digit).unwrap_or(0);
        read += letter.len_utf8();
        if power >= 100 {
            return Err(far());
        }
    }
    if power == 0 && sign == 1 && !digits.starts_with('⁰') {
        return Ok((0, 0));
    }
    Ok((sign * power, read))
}

fn number_of(plain: &str, power: i32, negative: bool) -> Result<Number, String> {
    let value: f64 = plain.parse().map_err(|_| format!("`{plain}` is no number"))?;
    // The power is put behind the digits, so that the nearest number is taken.
    let value: f64 = format!("{plain}e{power}").parse().unwrap_or(value);
    if !value.is_finite() {
        return Err("it is too large".to_owned());
    }
    let decimals = plain.split_once('.').map_or(0, |(_, after)| after.len());
    let digits: String = plain.chars().filter(char::is_ascii_digit).collect();
    let figures = digits.trim_start_matches('0').len();
    let last = 10_f64.powi(power - i32::try_from(decimals).unwrap_or(0));
    Ok(Number { value: if negative { -value } else { value }, figures, last })
}

/// The unit behind a number, and a remark on how it was read.
fn unit(text: &str) -> Result<(Behind, String), String> {
    let text = text.trim();
    let text = text.strip_prefix('[').and_then(|t| t.strip_suffix(']')).unwrap_or(text).trim();
    if text.is_empty() {
        return Ok((Behind::Nothing, String::new()));
    }
    if let Some((_, code)) = CURRENCY_SIGNS.iter().find(|(sign, _)| *sign == text) {
        // A dollar may be any country's; that of the sheet is meant.
        return Ok((Unit::parse(code).map_or(Behind::Nothing, Behind::Unit), String::new()));
    }
    let first = match Unit::parse(text) {
        Ok(unit) => return Ok((Behind::Unit(unit), String::new())),
        Err(UnitError::Ambiguous { word, choices, .. }) => {
            return Ok(several(text, word, choices));
        }
        Err(error) => error,
    };
    let spoken = plainly(text);
    match Unit::parse(&spoken) {
        Ok(unit) => return Ok((Behind::Unit(unit), String::new())),
        Err(UnitError::Ambiguous { word, choices, .. }) => {
            return Ok(several(&spoken, word, choices));
        }
        // `KW` can only be kW; `MW` and `mW` both are units and never come here.
        Err(UnitError::Unknown { word, nearest, .. }) => {
            let same: Vec<&String> =
                nearest.iter().filter(|near| near.to_lowercase() == word.to_lowercase()).collect();
            if let [only] = same.as_slice()
                && let Ok(unit) = Unit::parse(&spoken.replace(&word, only))
            {
                return Ok((Behind::Unit(unit), format!("`{word}` was read as {only}")));
            }
        }
        Err(_) => {}
    }
    Err(format!("{first}; {}", first.help()))
}

fn several(text: &str, word: String, choices: &[&str]) -> (Behind, String) {
    let one = |choice: &&str| Unit::parse(&text.replace(&word, choice)).ok();
    let units = choices.iter().filter_map(one).collect();
    (Behind::Several { word, units }, String::new())
}

/// A unit as it is spoken in the way that it is written.
fn plainly(text: &str) -> String {
    let mut text = text.to_owned();
    for (ending, written) in COUNTED_FROM {
        let lower = text.to_lowercase();
        if let Some(front) = lower.strip_suffix(ending)
            && front.len() < lower.len()
            && !front.trim_end().is_empty()
            && text.is_char_boundary(front.trim_end().len())
        {
            text = format!("{}{written}", &text[..front.trim_end().len()]);
            break;
        }
    }
    for (spoken, written) in SPOKEN {
        while let Some(at) = word_in(&text, spoken) {
            text.replace_range(at..at + spoken.len(), written);
        }
    }
    let text = text.replace(" per ", "/").replace(" / ", "/").replace("/ ", "/").replace(" /", "/");
    raised(&text)
}

/// Where a word stands in a text, whatever its capitals.
fn word_in(text: &str, word: &str) -> Option<usize> {
    if !text.is_ascii() {
        return None;
    }
    let lower = text.to_ascii_lowercase();
    let letter = |at: usize| lower.as_bytes().get(at).is_some_and(u8::is_ascii_alphanumeric);
    lower
        .match_indices(word)
        .map(|(at, _)| at)
        .find(|at| (*at == 0 || !letter(at - 1)) && !letter(at + word.len()))
}

/// `m3s-1` and `m s-1`: a power that is written without its sign.
fn raised(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 4);
    let mut before: Option<char> = None;
    for letter in text.chars() {
        let after_letter = before.is_some_and(char::is_alphabetic);
        if letter == '-' && after_letter {
            out.push('^');
        }
        let after_digit = before.is_some_and(|c| c.is_ascii_digit());
        if letter.is_alphabetic() && after_digit {
            out.push(' ');
        }
        out.push(letter);
        before = Some(letter);
    }
    out
}

/// Yes or no.
pub(super) fn truth(text: &str) -> Option<bool> {
    let word = text.trim().trim_end_matches(['.', '!']).to_lowercase();
    match word.as_str() {
        "yes" | "y" | "true" | "holds" | "it holds" | "it does" | "1" | "ok" => Some(true),
        "no" | "n" | "false" | "fails" | "it fails" | "it does not" | "0" | "not ok" => Some(false),
        _ => None,
    }
}

/// The place of the word that is meant among words that are offered as a), b) and so on.
pub(super) fn choice(text: &str, words: &[String]) -> Option<usize> {
    let plain = |text: &str| text.trim().trim_matches(['"', '\'', '.', '`']).trim().to_lowercase();
    let given = plain(text);
    if let Some(at) = words.iter().position(|word| plain(word) == given) {
        return Some(at);
    }
    // `b`, `b)`, `(b)`, and `b) turbulent`.
    let bare = given.trim_start_matches('(');
    let mut letters = bare.chars();
    let letter = letters.next()?;
    let rest = letters.as_str();
    let place = (letter as u32).checked_sub('a' as u32).map(|at| at as usize)?;
    let word = words.get(place)?;
    let behind = rest.trim_start_matches([')', '.', ':']).trim();
    let marked = rest.is_empty() || rest.starts_with([')', '.', ':']);
    (marked && (behind.is_empty() || behind == plain(word))).then_some(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Value, figures and unit of the only reading.
    #[track_caller]
    fn check(text: &str, value: f64, figures: usize, unit: &str) {
        let written = read(text).unwrap_or_else(|why| panic!("{text}: {why}"));
        let number = written.numbers[0];
        assert_eq!((number.value, number.figures), (value, figures), "{text}");
        match written.behind {
            Behind::Unit(found) => assert_eq!(found.symbol(), unit, "{text}"),
            Behind::Nothing => assert_eq!(unit, "", "{text}"),
            Behind::Several { .. } => panic!("{text}: several units"),
        }
    }

    #[test]
    fn numbers_as_people_write_them() {
        check("1,234 W", 1234.0, 4, "W");
        check("0.6 m3/s", 0.6, 1, "m^3/s");
        check("0,60 m³/s", 0.6, 2, "m^3/s");
        check("12 kPa", 12.0, 2, "kPa");
        check("12", 12.0, 2, "");
        check("1 234 567 W", 1_234_567.0, 7, "W");
        check("1.234,5 W", 1234.5, 5, "W");
        check("1,234.50 W", 1234.5, 6, "W");
        check("1'234 W", 1234.0, 4, "W");
        check("-3.2 m", -3.2, 2, "m");
        check("−3.2m", -3.2, 2, "m");
        check("3.2e-3 m", 0.0032, 2, "m");
        check("3.2 x 10^-3 m", 0.0032, 2, "m");
        check("3,2·10⁻³ m", 0.0032, 2, "m");
        check("4×10³ W", 4000.0, 1, "W");
        check("v = 2.10 m/s", 2.1, 3, "m/s");
        check("≈2.1 m / s", 2.1, 2, "m/s");
        check("about 5.", 5.0, 1, "");
        check("3.2 ± 0.1 m", 3.2, 2, "m");
        check(".5 m", 0.5, 1, "m");
        check("0.050 m", 0.05, 2, "m");
        check("85%", 85.0, 2, "%");
        check("€ 1,250.00", 1250.0, 6, "EUR");
        check("EUR 12", 12.0, 2, "EUR");
    }

    #[test]
    fn units_as_people_speak_them() {
        check("2 metres per second", 2.0, 1, "m/s");
        check("2 m s-1", 2.0, 1, "m·s^-1");
        check("2 m3s-1", 2.0, 1, "m^3·s^-1");
        check("5 litres per sec", 5.0, 1, "L/s");
        check("62 kPa absolute", 62.0, 2, "kPa_abs");
        check("62 kPa (abs)", 62.0, 2, "kPa_abs");
        check("1.2 bar gauge", 1.2, 2, "bar_gauge");
        check("3 KW", 3.0, 1, "kW");
        check("30°", 30.0, 2, "deg");
        check("12 [kPa]", 12.0, 2, "kPa");
        let Ok(Written { behind: Behind::Several { units, .. }, .. }) = read("12 gal") else {
            panic!("a gallon is one of two");
        };
        assert!(units.len() >= 2);
        let Ok(Written { behind: Behind::Several { units, .. }, .. }) = read("12 gal/s") else {
            panic!("a gallon is one of two");
        };
        assert!(units.iter().any(|unit| unit.symbol() == "gal_US/s"), "{units:?}");
    }

    #[test]
    fn a_comma_before_three_digits_may_be_two_things() {
        let written = read("1,234 W").unwrap();
        let values: Vec<f64> = written.numbers.iter().map(|number| number.value).collect();
        assert_eq!(values, [1234.0, 1.234]);
        assert_eq!(read("0,234 W").unwrap().numbers.len(), 1);
    }

    #[test]
    fn what_is_no_number_is_said() {
        for text in ["", "dunno", "m/s", "1.2.3 m", "1,23,456 W", "12 flurbs", "9e999 m", "--3"] {
            assert!(read(text).is_err(), "{text}");
        }
        assert!(read(&"9".repeat(10_000)).is_err());
    }

    #[test]
    fn truths_and_choices() {
        assert_eq!((truth(" Yes."), truth("n"), truth("perhaps")), (Some(true), Some(false), None));
        let words = ["laminar", "turbulent"].map(str::to_owned);
        for text in ["Turbulent", "b", "B)", "(b)", "b) turbulent", "\"turbulent\""] {
            assert_eq!(choice(text, &words), Some(1), "{text}");
        }
        for text in ["c", "b) laminar", "", "turbid", "bore"] {
            assert_eq!(choice(text, &words), None, "{text}");
        }
    }
}
