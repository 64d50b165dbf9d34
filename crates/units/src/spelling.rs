//! What may have been meant by a word that nobody knows: the one place where near names are found.

/// Longer words are near to nothing that has a name; this bounds the work on hostile texts.
const LONGEST: usize = 64;
/// More proposals than this are a list to search through.
const MOST: usize = 3;
/// A word of so many letters that stands inside a name may be what is left of it.
const PART: usize = 4;

/// Up to three of the names that are nearest to a word, the best first; none where none is near.
/// Capitals do not count; swapped neighbours are one slip. A word that stands inside a name is
/// nearer to it than to one that differs by two letters.
///
/// ```
/// use forebay_units::nearest;
///
/// let names = ["bore", "gross_head", "net_head"];
/// assert_eq!(nearest("boer", names), ["bore"]);
/// assert_eq!(nearest("head", names), ["net_head", "gross_head"]);
/// assert!(nearest("stream", names).is_empty());
/// ```
#[must_use]
pub fn nearest<'n>(word: &str, names: impl IntoIterator<Item = &'n str>) -> Vec<&'n str> {
    let word = word.to_lowercase();
    let letters = word.chars().count();
    if letters == 0 || letters > LONGEST {
        return Vec::new();
    }
    let rank = |name: &str| -> Option<(usize, usize)> {
        let name = name.to_lowercase();
        let length = name.chars().count();
        let longer = length.abs_diff(letters);
        let allowed = allowed(length.min(letters));
        let inside = letters >= PART && length > letters && name.contains(&word);
        if inside && longer > 1 {
            return Some((3, length));
        }
        // The difference in length is the least number of slips.
        if longer > allowed {
            return None;
        }
        let slips = slips(&word, &name);
        (slips <= allowed).then_some((2 * slips, longer))
    };
    let mut near: Vec<((usize, usize), &str)> =
        names.into_iter().filter_map(|name| Some((rank(name)?, name))).collect();
    near.sort_unstable();
    near.dedup();
    let best = near.first().map(|((rank, _), _)| *rank);
    let same = near.into_iter().take_while(|((rank, _), _)| Some(*rank) == best);
    same.take(MOST).map(|(_, name)| name).collect()
}

/// How many slips a word of this length may hold: a short one is near to nearly everything.
fn allowed(length: usize) -> usize {
    if length < 3 { 0 } else { length.div_ceil(3) }
}

/// The number of single-letter slips between two words, neighbours swapped counting as one.
pub(crate) fn slips(from: &str, to: &str) -> usize {
    let to: Vec<char> = to.chars().collect();
    let mut before_last: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    let mut previous = None;
    for (i, a) in from.chars().enumerate() {
        let mut row = vec![i + 1];
        for (j, b) in to.iter().enumerate() {
            let mut best = (last[j] + usize::from(a != *b)).min(last[j + 1] + 1).min(row[j] + 1);
            if j > 0 && previous == Some(*b) && a == to[j - 1] {
                best = best.min(before_last[j - 1] + 1);
            }
            row.push(best);
        }
        before_last = std::mem::replace(&mut last, row);
        previous = Some(a);
    }
    last[to.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn slips_are_counted() {
        assert_eq!(slips("bore", "bore"), 0);
        assert_eq!(slips("bore", "boer"), 1);
        assert_eq!(slips("", "abc"), 3);
        assert_eq!(slips("crest", "rest"), 1);
    }

    #[test]
    fn slips_are_forgiven_in_measure() {
        let near = |word| nearest(word, ["bore", "flow", "gross_head", "q"]);
        assert_eq!(near("boar"), ["bore"]);
        assert_eq!(near("flwo"), ["flow"]);
        assert_eq!(near("gros_haed"), ["gross_head"]);
        assert_eq!(near("x"), [""; 0]);
        assert_eq!(near("stream"), [""; 0]);
        assert_eq!(near(&"b".repeat(10_000)), [""; 0]);
    }

    #[test]
    fn a_word_inside_a_name_comes_after_one_slip_and_before_two() {
        assert_eq!(nearest("crest", ["cost", "crest_pressure"]), ["crest_pressure"]);
        assert_eq!(nearest("flow", ["flows", "flow_duration"]), ["flows"]);
        assert_eq!(nearest("Pond", ["pond"]), ["pond"]);
        assert_eq!(nearest("whole-sit", ["pond", "whole-site"]), ["whole-site"]);
        assert_eq!(nearest("", ["pond"]), [""; 0]);
    }
}
