//! Which cell depends on which: the order to compute in, and the rings that have none.

/// The cells in an order in which each comes after those that it reads, and back.
#[derive(Clone, Debug, Default)]
pub(crate) struct Graph {
    /// Cells in computing order. Cells of a ring are not among them.
    pub(crate) order: Vec<u32>,
    /// The place of each cell in `order`; `u32::MAX` for a cell of a ring.
    pub(crate) rank: Vec<u32>,
    /// Places of the dependants of the cell at each place: `dependants[starts[r]..starts[r + 1]]`.
    starts: Vec<u32>,
    dependants: Vec<u32>,
}

/// The place of a cell that has none.
pub(crate) const NOWHERE: u32 = u32::MAX;

impl Graph {
    /// Sorts cells by what each of them reads; also gives each ring, in the order in which its
    /// cells read one another.
    pub(crate) fn new(reads: &[Vec<u32>]) -> (Self, Vec<Vec<u32>>) {
        let count = reads.len();
        let mut readers: Vec<Vec<u32>> = vec![Vec::new(); count];
        let mut open: Vec<u32> = vec![0; count];
        for (cell, read) in (0_u32..).zip(reads) {
            open[cell as usize] = u32::try_from(read.len()).unwrap_or(u32::MAX);
            for other in read {
                readers[*other as usize].push(cell);
            }
        }
        // A heap would keep declared order exactly; a queue keeps it nearly and is linear.
        let mut ready: std::collections::VecDeque<u32> =
            (0_u32..).zip(&open).filter(|(_, open)| **open == 0).map(|(cell, _)| cell).collect();
        let mut order = Vec::with_capacity(count);
        let mut done = vec![false; count];
        let mut rings = Vec::new();
        let mut from = 0;
        loop {
            while let Some(cell) = ready.pop_front() {
                if std::mem::replace(&mut done[cell as usize], true) {
                    continue;
                }
                order.push(cell);
                release(cell, &readers, &mut open, &mut ready);
            }
            let Some(stuck) = (from..count).find(|cell| !done[*cell]) else { break };
            from = stuck;
            let ring = ring_behind(stuck, reads, &done);
            for cell in &ring {
                done[*cell as usize] = true;
            }
            for cell in &ring {
                release(*cell, &readers, &mut open, &mut ready);
            }
            rings.push(ring);
        }
        (Self::ranked(order, &readers), rings)
    }

    fn ranked(order: Vec<u32>, readers: &[Vec<u32>]) -> Self {
        let mut rank = vec![NOWHERE; readers.len()];
        for (place, cell) in (0_u32..).zip(&order) {
            rank[*cell as usize] = place;
        }
        let mut starts = Vec::with_capacity(order.len() + 1);
        let mut dependants = Vec::new();
        for cell in &order {
            starts.push(u32::try_from(dependants.len()).unwrap_or(u32::MAX));
            dependants.extend(
                readers[*cell as usize].iter().map(|r| rank[*r as usize]).filter(|r| *r != NOWHERE),
            );
        }
        starts.push(u32::try_from(dependants.len()).unwrap_or(u32::MAX));
        Self { order, rank, starts, dependants }
    }

    /// The places of the cells that read the cell at a place.
    pub(crate) fn dependants(&self, place: u32) -> &[u32] {
        let at = place as usize;
        &self.dependants[self.starts[at] as usize..self.starts[at + 1] as usize]
    }
}

fn release(
    cell: u32,
    readers: &[Vec<u32>],
    open: &mut [u32],
    ready: &mut std::collections::VecDeque<u32>,
) {
    for reader in &readers[cell as usize] {
        let left = &mut open[*reader as usize];
        *left = left.saturating_sub(1);
        if *left == 0 {
            ready.push_back(*reader);
        }
    }
}

/// Follows what stuck cells read until one comes again: that is the ring they wait for.
fn ring_behind(stuck: usize, reads: &[Vec<u32>], done: &[bool]) -> Vec<u32> {
    let mut path: Vec<u32> = Vec::new();
    let mut seen = std::collections::HashMap::new();
    let mut at = stuck;
    loop {
        #[allow(clippy::cast_possible_truncation)]
        let cell = at as u32;
        if let Some(start) = seen.insert(cell, path.len()) {
            return path.split_off(start);
        }
        path.push(cell);
        match reads[at].iter().find(|read| !done[**read as usize]) {
            Some(next) => at = *next as usize,
            // Every stuck cell reads a stuck one; this ends the walk all the same.
            None => return path,
        }
    }
}

/// Places that must be computed again, scanned forward: a bit for each place, and a bit above for
/// each word of them, so that a few marks in a large sheet are found at once.
#[derive(Clone, Debug, Default)]
pub(crate) struct Dirty {
    words: Vec<u64>,
    above: Vec<u64>,
}

impl Dirty {
    pub(crate) fn new(places: usize) -> Self {
        let words = places.div_ceil(64);
        Self { words: vec![0; words], above: vec![0; words.div_ceil(64)] }
    }

    pub(crate) fn mark(&mut self, place: u32) {
        let word = place as usize / 64;
        if let Some(bits) = self.words.get_mut(word) {
            if *bits == 0
                && let Some(above) = self.above.get_mut(word / 64)
            {
                *above |= 1 << (word % 64);
            }
            *bits |= 1 << (place % 64);
        }
    }

    /// Goes through the marked places in order, and through those that `visit` gives, all of which
    /// lie behind the place that it is called for. Afterwards none is marked.
    ///
    /// The word at hand is kept out of memory, since most cells are read by one soon behind them.
    pub(crate) fn drain<'g>(&mut self, mut visit: impl FnMut(u32) -> &'g [u32]) {
        let mut word = 0;
        while let Some(next) = self.next_word(word) {
            word = next;
            let mut bits = std::mem::take(&mut self.words[word]);
            self.above[word / 64] &= !(1 << (word % 64));
            let base = u32::try_from(word * 64).unwrap_or(u32::MAX);
            while bits != 0 {
                let place = base + bits.trailing_zeros();
                bits &= bits - 1;
                for behind in visit(place) {
                    if *behind as usize / 64 == word {
                        bits |= 1 << (behind % 64);
                    } else {
                        self.mark(*behind);
                    }
                }
            }
        }
    }

    /// The first word with a mark, at or after one.
    fn next_word(&self, word: usize) -> Option<usize> {
        if self.words.get(word).is_some_and(|bits| *bits != 0) {
            return Some(word);
        }
        let mut above = self.above.iter().enumerate().skip(word / 64);
        let (at, bits) = above.find(|(_, bits)| **bits != 0)?;
        Some(at * 64 + bits.trailing_zeros() as usize)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn order_and_rings() {
        // 0 reads 1, 1 reads 2, 3 reads 4 reads 3, 5 reads 3, 6 reads itself.
        let reads = vec![vec![1], vec![2], vec![], vec![4], vec![3], vec![3], vec![6]];
        let (graph, rings) = Graph::new(&reads);
        assert_eq!(graph.order, [2, 1, 0, 5]);
        assert_eq!(rings, [vec![3, 4], vec![6]]);
        assert_eq!(graph.rank[3], NOWHERE);
        assert_eq!(graph.dependants(0), [1]);
        assert_eq!(graph.dependants(2), [] as [u32; 0]);
    }

    #[test]
    fn marks_are_taken_in_order_and_once() {
        let mut dirty = Dirty::new(200);
        for place in [130, 3, 64, 199] {
            dirty.mark(place);
        }
        let mut taken = Vec::new();
        dirty.drain(|place| {
            taken.push(place);
            &[]
        });
        assert_eq!(taken, [3, 64, 130, 199]);
        // Far apart in a large set, with places behind that are given on the way, one of them twice.
        let mut dirty = Dirty::new(1_000_000);
        dirty.mark(5);
        dirty.mark(999_999);
        let mut taken = Vec::new();
        dirty.drain(|place| {
            taken.push(place);
            match place {
                5 => &[6, 500_000],
                6 => &[500_000, 999_999],
                _ => &[],
            }
        });
        assert_eq!(taken, [5, 6, 500_000, 999_999]);
        // Nothing is left.
        dirty.drain(|place| panic!("{place} is still marked"));
    }
}
