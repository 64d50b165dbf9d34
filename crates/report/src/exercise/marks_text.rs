//! Marks for reading: the class first, then each learner with what went wrong and how it is done.

use forebay_sheet::Step;
use forebay_study::{Item, Marked, Marks, Verdict};

use super::{comment, handed, points};
use crate::formats::Options;
use crate::page::{Page, width};
use crate::study::table::Table;

/// Everything that `forebay mark` shows. Of learners who got everything right there is one line.
#[must_use]
pub fn marks_text(marked: &Marked, options: &Options) -> String {
    let mut page = Page::new(options);
    page.title(&marked.title);
    class(&mut page, marked);
    open(&mut page, marked);
    let (away, present): (Vec<&Marks>, Vec<&Marks>) = marked
        .learners
        .iter()
        .partition(|marks| marks.items.iter().all(|item| item.verdict == Verdict::Blank));
    for marks in present {
        learner(&mut page, marks);
    }
    if !away.is_empty() {
        page.heading("Nothing handed in");
        let names: Vec<&str> = away.iter().map(|marks| marks.learner.as_str()).collect();
        page.paragraph(2, &names.join(", "));
    }
    page.finish()
}

fn class(page: &mut Page, marked: &Marked) {
    let class = &marked.class;
    let (all, answered) = (marked.learners.len(), class.answered);
    page.line(
        0,
        &format!(
            "{answered} of {all} handed in; mean {} of {} points",
            points(class.mean),
            points(class.of)
        ),
    );
    for differs in &marked.differs {
        page.line(0, &format!("not as in the key: {differs}"));
    }
    page.heading("Questions");
    let mut table = Table { fixed: 1, ..Table::default() };
    // `open` are those that somebody has to look at.
    let heads =
        ["question", "points", "right", "carried", "rounded", "slip", "wrong", "open", "none"];
    for head in heads {
        table.heads.push((head.to_owned(), String::new()));
    }
    for question in &class.questions {
        let slips: usize = question.slips.iter().map(|(_, times)| times).sum();
        let mut row = vec![question.cell.clone(), format!("{:.0} %", 100.0 * question.share)];
        let counts = [
            question.right,
            question.carried,
            question.rounded,
            slips,
            question.wrong,
            question.open,
            question.blank,
        ];
        row.extend(counts.map(|count| count.to_string()));
        table.rows.push(row);
        table.remarks.push(String::new());
    }
    table.put(page);
    for question in class.questions.iter().filter(|question| !question.slips.is_empty()) {
        let slips: Vec<String> =
            question.slips.iter().map(|(name, times)| format!("{name} {times}×")).collect();
        page.hanging(2, &format!("{}:", question.cell), 4 + question.cell.len(), &slips.join(", "));
    }
    if let Some(hardest) = class.hardest() {
        let (cell, times) = (&hardest.cell, hardest.went_wrong());
        page.gap();
        page.line(0, &format!("Most often wrong: {cell}, {times} of {answered}"));
    }
}

/// What somebody has to look at.
fn open(page: &mut Page, marked: &Marked) {
    let open = || {
        let items = marked.learners.iter().flat_map(|m| m.items.iter().map(move |item| (m, item)));
        items.filter(|(_, item)| item.verdict.is_open())
    };
    if open().next().is_none() && marked.strays.is_empty() {
        return;
    }
    page.heading("Please look at these; they have no points yet");
    for (marks, item) in open() {
        let lines: Vec<String> = item.handed.iter().map(|(line, _)| line.to_string()).collect();
        page.line(
            2,
            &format!(
                "line {}: {}, {}: `{}`: {}",
                lines.join(" and "),
                marks.learner,
                item.cell,
                handed(item),
                comment(item)
            ),
        );
    }
    for stray in &marked.strays {
        let handed = &stray.handed;
        page.line(2, &format!("line {}: `{}`: {}", handed.line, handed.answer.trim(), stray.why));
    }
}

fn learner(page: &mut Page, marks: &Marks) {
    let (got, of) = (points(marks.points), points(marks.of));
    page.heading(&format!("{}: {got} of {of} points", marks.learner));
    if marks.items.iter().all(|item| item.verdict == Verdict::Right) {
        page.line(2, "all right");
        return;
    }
    let names = marks.items.iter().map(|item| width(&item.cell)).max().unwrap_or(0);
    for item in &marks.items {
        one(page, item, names);
    }
}

fn one(page: &mut Page, item: &Item, names: usize) {
    let cell = &item.cell;
    let missing = " ".repeat(names.saturating_sub(width(cell)));
    let head = format!("{:<7}  {cell}{missing}", item.verdict.word());
    let answer = handed(item);
    let comment = comment(item);
    let colon = if comment.is_empty() { "" } else { ": " };
    let said = match &item.verdict {
        Verdict::Right | Verdict::Carried { .. } => format!("{answer}{colon}{comment}"),
        Verdict::Blank => format!("right is {}", item.right),
        _ => format!("{answer}{colon}{comment}; right is {}", item.right),
    };
    page.aligned_then(2, &head, &said);
    for step in &item.working {
        working(page, step);
    }
}

/// A step of the working, a line for each side of its equals signs.
fn working(page: &mut Page, step: &Step) {
    let column = 6 + width(&step.name) + 3;
    page.hanging(6, &format!("{} =", step.name), column, &step.formula);
    for line in step.with_numbers.iter().chain([&step.result]) {
        page.hanging(column - 2, "=", column, line);
    }
}
