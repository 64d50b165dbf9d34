//! Equations as MathML: those of a sheet from their trees, those of the library from their text.
//!
//! What cannot be set stands as the text it is. Browsers do not break a line inside an equation, so
//! one that is too long for a page stays text too.

mod of_library;

use forebay_sheet::Equation;

use crate::markup::escaped;

pub(crate) use of_library::library_equation;

/// An equation of more letters than this does not fit a printed page.
const WIDEST: usize = 84;

/// `name = formula`, set; `None` where it would be too wide.
pub(crate) fn cell_equation(name: &str, equation: &Equation) -> Option<String> {
    if name.len() + 3 + width(equation) > WIDEST {
        return None;
    }
    Some(math(&format!("{}{}{}", name_of(name), sign("="), set(equation))))
}

/// A condition, set; `None` where it would be too wide.
pub(crate) fn condition(equation: &Equation) -> Option<String> {
    (width(equation) <= WIDEST).then(|| math(&set(equation)))
}

/// A whole `<math>` element around what stands in it.
fn math(inside: &str) -> String {
    format!("<math displaystyle=\"true\"><mrow>{inside}</mrow></math>")
}

fn set(equation: &Equation) -> String {
    match equation {
        Equation::Number(number) => digits(number),
        Equation::Quantity(number, unit) => {
            format!("<mrow>{}<mspace width=\"0.2em\"/>{}</mrow>", digits(number), unit_of(unit))
        }
        Equation::Name(name) => name_of(name),
        Equation::Text(text) => format!("<mtext>“{}”</mtext>", escaped(text)),
        Equation::List(items) => fenced("[", &listed(items.iter().map(set)), "]"),
        Equation::Call(name, arguments) => call(name, arguments),
        Equation::Index(of, at) => format!("{}{}", set(of), fenced("[", &set(at), "]")),
        Equation::Mapping(names, body) => {
            let names = listed(names.iter().map(|name| name_of(name)));
            let names = if names.contains("<mo>") { fenced("(", &names, ")") } else { names };
            format!("<mrow>{names}{}{}</mrow>", sign("↦"), set(body))
        }
        Equation::Negative(of) => format!("<mrow><mo form=\"prefix\">−</mo>{}</mrow>", set(of)),
        Equation::Not(of) => format!("<mrow>{}{}</mrow>", word("not "), set(of)),
        Equation::Operation(operator, left, right) => {
            format!("{}{}{}", set(left), operation(operator), set(right))
        }
        Equation::Fraction(over, under) => fraction(&set(bare(over)), &set(bare(under))),
        Equation::Power(base, exponent) => power(&set(base), &set(bare(exponent))),
        Equation::Choice(condition, then, otherwise) => format!(
            "<mrow>{}{}{}{}{}</mrow>",
            set(then),
            word(" if "),
            set(condition),
            word(", else "),
            set(otherwise)
        ),
        Equation::Bracketed(inside) => fenced("(", &set(inside), ")"),
    }
}

fn call(name: &str, arguments: &[(Option<String>, Equation)]) -> String {
    match (name, arguments) {
        ("sqrt", [(None, only)]) => format!("<msqrt>{}</msqrt>", set(bare(only))),
        ("abs", [(None, only)]) => fenced("|", &set(bare(only)), "|"),
        _ => {
            let one = |(name, value): &(Option<String>, Equation)| match name {
                Some(name) => format!("{}{}{}", name_of(name), sign("="), set(value)),
                None => set(value),
            };
            let inside = listed(arguments.iter().map(one));
            format!("<mrow>{}{}</mrow>", upright(name), fenced("(", &inside, ")"))
        }
    }
}

/// Without brackets that a bar, a root or a raised place makes needless.
fn bare(equation: &Equation) -> &Equation {
    match equation {
        Equation::Bracketed(inside) => inside,
        other => other,
    }
}

/// How many letters wide it is, about.
fn width(equation: &Equation) -> usize {
    let list = |items: &mut dyn Iterator<Item = usize>| items.map(|item| item + 2).sum::<usize>();
    match equation {
        Equation::Number(text) | Equation::Name(text) => text.len(),
        Equation::Text(text) => text.len() + 2,
        Equation::Quantity(number, unit) => number.len() + unit.len() + 1,
        Equation::List(items) => list(&mut items.iter().map(width)),
        Equation::Call(name, arguments) => {
            let name_of = |name: &Option<String>| name.as_ref().map_or(0, |name| name.len() + 3);
            name.len() + list(&mut arguments.iter().map(|(name, a)| name_of(name) + width(a)))
        }
        Equation::Index(a, b) | Equation::Power(a, b) => width(a) + width(b),
        Equation::Mapping(names, body) => {
            list(&mut names.iter().map(String::len)) + 3 + width(body)
        }
        Equation::Negative(of) => 1 + width(of),
        Equation::Not(of) => 4 + width(of),
        Equation::Operation(operator, a, b) => width(a) + operator.len() + 2 + width(b),
        Equation::Fraction(a, b) => width(a).max(width(b)) + 1,
        Equation::Choice(a, b, c) => width(a) + width(b) + width(c) + 12,
        Equation::Bracketed(inside) => width(inside) + 2,
    }
}

fn operation(operator: &str) -> String {
    match operator {
        "*" => sign("·"),
        "-" => sign("−"),
        "<=" => sign("≤"),
        ">=" => sign("≥"),
        "==" => sign("="),
        "!=" => sign("≠"),
        "&&" => word(" and "),
        "||" => word(" or "),
        "%" => word(" mod "),
        other => sign(other),
    }
}

fn sign(sign: &str) -> String {
    format!("<mo>{}</mo>", escaped(sign))
}

/// A word with the spaces around it.
fn word(word: &str) -> String {
    let space = |there: bool| if there { "<mspace width=\"0.35em\"/>" } else { "" };
    let (before, behind) = (space(word.starts_with(' ')), space(word.ends_with(' ')));
    format!("{before}<mtext>{}</mtext>{behind}", escaped(word.trim()))
}

fn digits(number: &str) -> String {
    format!("<mn>{}</mn>", escaped(&number.replace('_', "\u{2009}")))
}

/// A name: a letter alone slants, a word stands upright.
fn name_of(name: &str) -> String {
    format!("<mi>{}</mi>", escaped(name))
}

fn upright(name: &str) -> String {
    format!("<mi mathvariant=\"normal\">{}</mi>", escaped(name))
}

/// The symbol of a unit, its powers raised.
fn unit_of(symbol: &str) -> String {
    let mut out = String::new();
    let mut rest = symbol;
    while let Some((before, behind)) = rest.split_once('^') {
        let end = behind.find(|c: char| !c.is_ascii_digit() && c != '-').unwrap_or(behind.len());
        out.push_str(before);
        out.extend(behind[..end].chars().map(raised));
        rest = &behind[end..];
    }
    out.push_str(rest);
    format!("<mtext>{}</mtext>", escaped(&out))
}

fn raised(letter: char) -> char {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    match letter.to_digit(10) {
        Some(digit) => DIGITS[digit as usize],
        None => '⁻',
    }
}

fn fenced(open: &str, inside: &str, close: &str) -> String {
    let fence = |sign: &str, form: &str| {
        format!("<mo form=\"{form}\" fence=\"true\" stretchy=\"true\">{sign}</mo>")
    };
    format!("<mrow>{}{inside}{}</mrow>", fence(open, "prefix"), fence(close, "postfix"))
}

fn listed(items: impl Iterator<Item = String>) -> String {
    items.collect::<Vec<_>>().join("<mo separator=\"true\">,</mo>")
}

fn fraction(over: &str, under: &str) -> String {
    format!("<mfrac><mrow>{over}</mrow><mrow>{under}</mrow></mfrac>")
}

fn power(base: &str, exponent: &str) -> String {
    format!("<msup><mrow>{base}</mrow><mrow>{exponent}</mrow></msup>")
}

#[cfg(test)]
mod tests {
    use forebay_sheet::Sheet;

    use super::*;

    #[track_caller]
    fn check(formula: &str, expected: &str) {
        let text = format!("forebay: 1\nknown:\n  a: 1\n  b: 2\nwork:\n  c: |\n    {formula}\n");
        let sheet = Sheet::open(&text);
        let set = set(&sheet.cell("c").unwrap().equation().unwrap());
        // The tags that only hold things together.
        let set = set.replace("<mrow>", "").replace("</mrow>", "");
        assert_eq!(set, expected);
    }

    #[test]
    fn what_stands_over_what_is_what_the_grammar_says() {
        check("a / b * 2", "<mfrac><mi>a</mi><mi>b</mi></mfrac><mo>·</mo><mn>2</mn>");
        check("(a + b) / 2", "<mfrac><mi>a</mi><mo>+</mo><mi>b</mi><mn>2</mn></mfrac>");
        check(
            "2 * b^(a - 1)",
            "<mn>2</mn><mo>·</mo><msup><mi>b</mi><mi>a</mi><mo>−</mo><mn>1</mn></msup>",
        );
        check("sqrt(a)", "<msqrt><mi>a</mi></msqrt>");
        check(
            "3 m^2 / 1 m^2",
            "<mfrac><mn>3</mn><mspace width=\"0.2em\"/><mtext>m²</mtext><mn>1</mn><mspace width=\"0.2em\"/><mtext>m²</mtext></mfrac>",
        );
    }

    #[test]
    fn a_text_of_the_sheet_is_no_markup() {
        let sheet = Sheet::open("forebay: 1\nwork:\n  a: '\"<script>\" == \"x\"'\n");
        let set = set(&sheet.cell("a").unwrap().equation().unwrap());
        assert!(set.contains("&lt;script&gt;") && !set.contains("<script"), "{set}");
    }

    #[test]
    fn what_is_too_wide_is_left_as_text() {
        let sum = vec!["a"; 60].join(" + ");
        let sheet = Sheet::open(&format!("forebay: 1\nknown:\n  a: 1\nwork:\n  b: {sum}\n"));
        let equation = sheet.cell("b").unwrap().equation().unwrap();
        assert_eq!(cell_equation("b", &equation), None);
    }
}
