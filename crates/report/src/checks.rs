//! The checks of a sheet in words: how each stands, both sides, the margin, what to do.

use forebay_sheet::worksheet::Level;
use forebay_sheet::{Cell, Margin, Sheet, Verdict};

use crate::formats::Options;
use crate::page::{Mark, Page};

/// The column that the words of a check keep to.
const COLUMN: usize = 11;

/// The checks and their summary, as `forebay check` shows them.
#[must_use]
pub fn checks_text(sheet: &Sheet, options: &Options) -> String {
    let mut page = Page::new(options);
    if let Some(title) = sheet.title() {
        page.title(title);
    }
    list(&mut page, sheet);
    page.gap();
    page.line(0, &summary(sheet));
    page.finish()
}

/// The checks under their heading; nothing where there are none.
pub(crate) fn list(page: &mut Page, sheet: &Sheet) {
    let mut checks = sheet.checks().peekable();
    if checks.peek().is_none() {
        return;
    }
    page.heading("Checks");
    for check in checks {
        one(page, check);
    }
}

/// `12 checks: 10 hold, 1 fails (care), 1 unknown`.
#[must_use]
pub fn summary(sheet: &Sheet) -> String {
    let count = |verdict| sheet.checks().filter(|check| check.verdict() == verdict).count();
    let all = sheet.checks().count();
    let (hold, fail, unknown) =
        (count(Verdict::Holds), count(Verdict::Fails), count(Verdict::Unknown));
    if all == 0 {
        return "no checks".to_owned();
    }
    let mut parts = vec![format!("{hold} {}", if hold == 1 { "holds" } else { "hold" })];
    if fail > 0 {
        let levels: Vec<String> = [Level::Stop, Level::Care, Level::Note]
            .into_iter()
            .filter_map(|level| {
                let fails = |c: &Cell<'_>| {
                    c.verdict() == Verdict::Fails && c.check().is_some_and(|c| c.level == level)
                };
                match sheet.checks().filter(fails).count() {
                    0 => None,
                    n if n == fail => Some(level.word().to_owned()),
                    n => Some(format!("{n} {}", level.word())),
                }
            })
            .collect();
        let verb = if fail == 1 { "fails" } else { "fail" };
        parts.push(format!("{fail} {verb} ({})", levels.join(", ")));
    }
    if unknown > 0 {
        parts.push(format!("{unknown} unknown"));
    }
    format!("{all} {}: {}", if all == 1 { "check" } else { "checks" }, parts.join(", "))
}

/// The word for how a check stands; a failure is loud without colour.
#[must_use]
pub fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Holds => "holds",
        Verdict::Fails => "FAILS",
        Verdict::Unknown => "unknown",
    }
}

/// Both sides with their values and how far they are apart: `4 kPa against 3 kPa, 1 kPa to spare`.
pub(crate) fn margin_words(margin: &Margin<'_>) -> String {
    let (left, right) = &margin.shown;
    let distance = margin.margin.strip_prefix('-').unwrap_or(&margin.margin);
    let apart = match margin.comparison {
        "==" | "!=" if margin.margin_si == 0.0 => "equal".to_owned(),
        "==" | "!=" => format!("{distance} apart"),
        _ if margin.margin_si < 0.0 => format!("short by {distance}"),
        _ => format!("{distance} to spare"),
    };
    format!("{left} against {right}, {apart}")
}

/// Each comparison of a check in words; where there are several, with the comparison in front.
#[must_use]
pub fn margins_in_words(check: Cell<'_>) -> Vec<String> {
    let margins = check.margins();
    let several = margins.len() > 1;
    let one = |margin: &Margin<'_>| {
        let words = margin_words(margin);
        if several { format!("{}: {words}", one_side(margin)) } else { words }
    };
    margins.iter().map(one).collect()
}

fn one(page: &mut Page, cell: Cell<'_>) {
    let Some(check) = cell.check() else { return };
    let verdict = cell.verdict();
    let mark = match verdict {
        Verdict::Holds => Mark::Plain,
        Verdict::Fails => Mark::Bad,
        Verdict::Unknown => Mark::Doubtful,
    };
    let name = format!("{} ({})", cell.name(), check.level.word());
    page.hanging_marked(2, mark, word(verdict), COLUMN, &name);
    page.paragraph(COLUMN + 2, &cell.formula());
    for words in margins_in_words(cell) {
        page.paragraph(COLUMN + 2, &words);
    }
    if verdict == Verdict::Unknown {
        page.paragraph(COLUMN + 2, &cell.shown());
    }
    // What cannot be told does not hold either.
    if verdict != Verdict::Holds
        && let Some(otherwise) = &check.otherwise
    {
        page.paragraph(COLUMN, otherwise);
    }
    if let Some(caution) = &check.caution {
        page.hanging(COLUMN, "Caution:", COLUMN + 9, caution);
    }
}

fn one_side(margin: &Margin<'_>) -> String {
    format!("{} {} {}", margin.left_text, margin.comparison, margin.right_text)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(sheet: &str, expected: &str) {
        let sheet = Sheet::open(sheet);
        let text = checks_text(&sheet, &Options::default());
        assert_eq!(text, expected, "{text}");
    }

    #[test]
    fn each_verdict_has_its_word_and_sides() {
        check(
            "forebay: 1
known:
  lift: 6.2 m
  speed: 1.4 m/s
work:
  worse: lift + speed
check:
  lift_is_possible: { that: lift < 5.5 m, else: Lower the crest., level: stop, caution: Ask first. Then build. }
  water_is_calm: { that: speed < 2 m/s, caution: Mind the draft. It is cold. }
  told: worse > 1 m
",
            "Checks
  FAILS    lift_is_possible (stop)
             lift < 5.5 m
             6.200 m against 5.500 m, short by 0.7000 m
           Lower the crest.
           Caution: Ask first. Then build.
  holds    water_is_calm (care)
             speed < 2 m/s
             1.400 m/s against 2.000 m/s, 0.6000 m/s to spare
           Caution: Mind the draft. It is cold.
  unknown  told (care)
             worse > 1 m
             waits for worse

3 checks: 1 holds, 1 fails (stop), 1 unknown
",
        );
    }
}
