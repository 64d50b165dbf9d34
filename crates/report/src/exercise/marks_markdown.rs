//! Marks as Markdown: the class, then a page's worth for each learner to be handed back.

use forebay_study::{Marked, Marks, Verdict};

use super::handout::plain;
use super::{comment, handed, points};

/// The class and each learner.
#[must_use]
pub fn marks_markdown(marked: &Marked) -> String {
    let class = &marked.class;
    let mut out = format!(
        "# {}\n\n{} of {} handed in; mean {} of {} points\n\n",
        plain(&marked.title),
        class.answered,
        marked.learners.len(),
        points(class.mean),
        points(class.of)
    );
    out.push_str(
        "| question | right | carried | rounded | slips | wrong | look | blank | points |\n",
    );
    out.push_str("|---|--:|--:|--:|:--|--:|--:|--:|--:|\n");
    for question in &class.questions {
        let slips: Vec<String> =
            question.slips.iter().map(|(name, times)| format!("{name} {times}×")).collect();
        out.push_str(&format!(
            "| {} | {} | {} | {} | {} | {} | {} | {} | {:.0} % |\n",
            plain(&question.cell),
            question.right,
            question.carried,
            question.rounded,
            slips.join(", "),
            question.wrong,
            question.open,
            question.blank,
            100.0 * question.share
        ));
    }
    if !marked.strays.is_empty() {
        out.push_str("\n## Not told whose or to what\n\n");
        for stray in &marked.strays {
            let (line, answer) = (stray.handed.line, plain(&stray.handed.answer));
            out.push_str(&format!("- line {line}: {answer}: {}\n", plain(&stray.why)));
        }
    }
    for marks in &marked.learners {
        out.push_str(&learner(marks));
    }
    out
}

fn learner(marks: &Marks) -> String {
    let mut out = format!(
        "\n## {}: {} of {} points\n\n",
        plain(&marks.learner),
        points(marks.points),
        points(marks.of)
    );
    out.push_str("| question | answer | verdict | right | points | |\n|---|---|---|---|--:|---|\n");
    for item in &marks.items {
        out.push_str(&format!(
            "| {} | {} | {} | {} | {} of {} | {} |\n",
            plain(&item.cell),
            plain(&handed(item)),
            item.verdict.word(),
            plain(&item.right),
            points(item.points),
            points(item.of),
            plain(&comment(item))
        ));
    }
    for item in marks.items.iter().filter(|item| !item.working.is_empty()) {
        let wrong = matches!(item.verdict, Verdict::Wrong | Verdict::Slip { .. });
        if wrong {
            out.push_str(&format!("\nHow {} is worked out:\n\n", plain(&item.cell)));
            for step in &item.working {
                let numbers = step.with_numbers.as_deref().unwrap_or_default();
                let line =
                    format!("{} = {} = {numbers} = {}", step.name, step.formula, step.result);
                out.push_str(&format!("- {}\n", plain(&line)));
            }
        }
    }
    out
}
