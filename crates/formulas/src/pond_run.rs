//! The run of a pond through intervals of constant inflow.
//!
//! The weir's flow is taken as linear in the pond's volume between nodes that lie close where it
//! bends. Between two nodes the balance is then a linear equation, whose solution is an exponential
//! known in closed form: no step size, exact where the weir is dry, steady however small the pond.

use crate::formula::Refusal;
use crate::pond_shape::{LEVEL, Shape};

/// How many nodes stand above the crest.
const ABOVE_CREST: u32 = 400;

/// How many stops, starts and stretches one interval may have; those of a pond that cycles are
/// reckoned from their period, so that a few suffice.
const STEPS: usize = 1000;

/// Turbine and weir.
pub(crate) struct Outlets {
    /// Where the turbine stops.
    pub(crate) least_level: f64,
    /// Where it starts again; the same level for a turbine that throttles.
    pub(crate) restart_level: f64,
    /// Crest of the weir.
    pub(crate) crest_level: f64,
    /// The weir's flow over its head to the power 1.5.
    pub(crate) weir: f64,
}

/// What one interval came to.
pub(crate) struct Run {
    /// How long it lasted.
    pub(crate) interval: f64,
    /// Level at its end.
    pub(crate) level: f64,
    /// Volume through the turbine.
    pub(crate) turbined: f64,
    /// Volume over the weir.
    pub(crate) spilled: f64,
    /// How often the turbine started.
    pub(crate) starts: f64,
}

/// Runs a pond through intervals with their inflow, turbine flow and residual flow.
///
/// # Errors
/// Levels outside the table or in the wrong order, no interval at all, a pond that rises above its
/// table.
pub(crate) fn run(
    shape: &Shape,
    outlets: &Outlets,
    start_level: f64,
    interval: f64,
    flows: impl Iterator<Item = [f64; 3]>,
) -> Result<Vec<Run>, Refusal> {
    let mut pond = Pond::new(shape, outlets, start_level)?;
    let mut runs = Vec::new();
    for (at, [inflow, turbine, residual]) in flows.enumerate() {
        let before = pond.volume;
        let mut stretch = Stretch { left: interval, turbined: 0.0, unmet: 0.0, starts: 0.0 };
        let rises = || {
            Refusal(format!(
                "inflow: raises the pond above the table's highest level, {}, in interval {}",
                LEVEL.shown(shape.highest()),
                at + 1,
            ))
        };
        pond.interval(inflow - residual, turbine, &mut stretch).map_err(|fault| match fault {
            Fault::Rises => rises(),
            Fault::Flutters => Refusal(
                "restart_level: too near to the least level for the starts to be counted"
                    .to_owned(),
            ),
        })?;
        let kept = pond.volume - before;
        let came = (inflow - residual) * interval + stretch.unmet;
        // Rounding alone is no spill.
        let spilled = came - stretch.turbined - kept;
        let noise = 1e-12 * (inflow * interval + pond.volume + before);
        runs.push(Run {
            interval,
            level: shape.level(pond.volume),
            turbined: stretch.turbined,
            spilled: if spilled > noise { spilled } else { 0.0 },
            starts: stretch.starts,
        });
    }
    if runs.is_empty() {
        return Err(Refusal("inflow: the series is empty".to_owned()));
    }
    Ok(runs)
}

/// A volume of the pond and what flows over the weir there.
#[derive(Clone, Copy)]
struct Node {
    volume: f64,
    weir: f64,
}

struct Pond {
    nodes: Vec<Node>,
    /// The nodes of the turbine's levels.
    least: usize,
    restart: usize,
    /// State: the volume, the piece between two nodes that it lies in, whether the turbine runs.
    volume: f64,
    piece: usize,
    running: bool,
}

/// What is left of an interval, and what it came to so far.
struct Stretch {
    left: f64,
    turbined: f64,
    /// Residual flow that an empty pond could not give.
    unmet: f64,
    starts: f64,
}

enum Fault {
    Rises,
    Flutters,
}

/// How a stretch of steady flows ended.
#[derive(PartialEq)]
enum End {
    Time,
    Target,
    Empty,
}

impl Pond {
    fn new(shape: &Shape, outlets: &Outlets, start_level: f64) -> Result<Self, Refusal> {
        let &Outlets { least_level, restart_level, crest_level, weir } = outlets;
        let volume = shape.volume("start_level", start_level)?;
        let least_volume = shape.volume("least_level", least_level)?;
        let restart_volume = shape.volume("restart_level", restart_level)?;
        shape.volume("crest_level", crest_level)?;
        if restart_level < least_level {
            return Err(Refusal("restart_level: is below the least level".to_owned()));
        }
        let mut levels = shape.levels().to_vec();
        levels.extend([least_level, restart_level, crest_level]);
        let span = shape.highest() - crest_level;
        // Close to one another near the crest, where the weir's flow bends most.
        levels.extend(
            (1..ABOVE_CREST)
                .map(|k| crest_level + span * (f64::from(k) / f64::from(ABOVE_CREST)).powi(2)),
        );
        levels.sort_by(f64::total_cmp);
        let mut nodes: Vec<Node> = Vec::with_capacity(levels.len());
        for level in levels {
            let volume = shape.volume("crest_level", level.min(shape.highest()))?;
            if nodes.last().is_none_or(|last| volume > last.volume) {
                let head = (level - crest_level).max(0.0);
                nodes.push(Node { volume, weir: weir * head.powf(1.5) });
            }
        }
        let node_of = |volume: f64| nodes.partition_point(|node| node.volume < volume);
        let (least, restart) = (node_of(least_volume), node_of(restart_volume));
        let piece = node_of(volume).clamp(1, nodes.len() - 1) - 1;
        Ok(Self { least, restart, volume, piece, running: volume > least_volume, nodes })
    }

    fn least_volume(&self) -> f64 {
        self.nodes[self.least].volume
    }

    /// Whether the turbine holds a level in place of stopping.
    fn throttles(&self) -> bool {
        self.least == self.restart
    }

    /// One interval; `net` is what comes less the residual flow.
    fn interval(&mut self, net: f64, turbine: f64, of: &mut Stretch) -> Result<(), Fault> {
        // What was left and turbined at the last start.
        let mut last_start: Option<(f64, f64)> = None;
        let mut skipped = false;
        for _ in 0..STEPS {
            if of.left <= 0.0 {
                return Ok(());
            }
            if self.running {
                let over = net - self.nodes[self.least].weir;
                if self.volume <= self.least_volume() && over < turbine {
                    if self.throttles() && over >= 0.0 && self.volume == self.least_volume() {
                        of.turbined += over * of.left;
                        of.left = 0.0;
                        return Ok(());
                    }
                    self.running = false;
                    continue;
                }
                let before = of.left;
                self.advance(net - turbine, of, Some(self.least))?;
                of.turbined += turbine * (before - of.left);
                continue;
            }
            let at_restart = self.volume >= self.nodes[self.restart].volume;
            let sinks = self.throttles() && net < self.nodes[self.least].weir;
            if at_restart && !sinks {
                self.running = true;
                of.starts += 1.0;
                match last_start {
                    // Under steady flows each start is like the last one.
                    Some((left, turbined)) if !skipped => {
                        let period = left - of.left;
                        let cycles = (of.left / period).floor();
                        if period > 0.0 && cycles.is_finite() {
                            of.turbined += cycles * (of.turbined - turbined);
                            of.starts += cycles;
                            of.left -= cycles * period;
                        }
                        skipped = true;
                    }
                    _ => last_start = Some((of.left, of.turbined)),
                }
                continue;
            }
            let target = (!sinks).then_some(self.restart);
            if self.advance(net, of, target)? == End::Empty {
                of.unmet -= net * of.left;
                of.left = 0.0;
            }
        }
        Err(Fault::Flutters)
    }

    /// Lets the pond rise or fall under a steady flow and its weir, until the time is over, the
    /// node `target` is reached or the pond is empty.
    fn advance(
        &mut self,
        flow: f64,
        of: &mut Stretch,
        target: Option<usize>,
    ) -> Result<End, Fault> {
        let last = self.nodes.len() - 1;
        // A pond on its way passes each node once.
        for _ in 0..=last {
            let (below, above) = (self.nodes[self.piece], self.nodes[self.piece + 1]);
            // How much the weir takes more for each volume more.
            let grows = (above.weir - below.weir) / (above.volume - below.volume);
            let gain = flow - below.weir - grows * (self.volume - below.volume);
            if gain == 0.0 {
                of.left = 0.0;
                return Ok(End::Time);
            }
            let rises = gain > 0.0;
            let (node, ahead) = if rises { (self.piece + 1, above) } else { (self.piece, below) };
            let way = ahead.volume - self.volume;
            // As e^(−grows t) the gain dies away; it is this share smaller at the node.
            let dies = grows * way / gain;
            let time = if dies >= 1.0 {
                f64::INFINITY
            } else if dies.abs() < 1e-12 {
                way / gain
            } else {
                -(-dies).ln_1p() / grows
            };
            if time > of.left {
                let span = grows * of.left;
                let spread = if span < 1e-12 { of.left } else { -(-span).exp_m1() / grows };
                self.volume = (self.volume + gain * spread).clamp(below.volume, above.volume);
                of.left = 0.0;
                return Ok(End::Time);
            }
            of.left -= time;
            self.volume = ahead.volume;
            // A node that it stands on is left, not reached.
            if target == Some(node) && way != 0.0 {
                return Ok(End::Target);
            }
            match (rises, node) {
                (true, node) if node == last => {
                    // Only what still rises there is beyond the table.
                    if flow > ahead.weir {
                        return Err(Fault::Rises);
                    }
                    of.left = 0.0;
                    return Ok(End::Time);
                }
                (true, node) => self.piece = node,
                (false, 0) => return Ok(End::Empty),
                (false, node) => self.piece = node - 1,
            }
        }
        Ok(End::Time)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formula::Argument;

    const OUTLETS: Outlets =
        Outlets { least_level: 1.0, restart_level: 1.4, crest_level: 2.0, weir: 2.0 };

    fn pond() -> Shape {
        Shape::read(Argument::Series(&[0.0, 3.0]), Argument::Number(500.0)).unwrap()
    }

    fn runs(interval: f64, flows: &[[f64; 3]]) -> Result<Vec<Run>, Refusal> {
        run(&pond(), &OUTLETS, 1.2, interval, flows.iter().copied())
    }

    #[test]
    fn no_water_is_lost() {
        let flows: Vec<[f64; 3]> = (0..500_u32)
            .map(|k| [f64::from(k * 7919 % 257) / 2000.0, 0.06, f64::from(k % 5) / 500.0])
            .collect();
        let mut before = 1.2;
        for (run, [inflow, _, residual]) in runs(7200.0, &flows).unwrap().iter().zip(&flows) {
            let out = run.turbined + run.spilled + 500.0 * (run.level - before);
            // Equal unless the pond ran dry.
            assert!((out - (inflow - residual) * 7200.0).abs() < 1e-6 || run.level == 0.0);
            assert!(run.turbined <= 0.06 * 7200.0 + 1e-9 && run.spilled >= 0.0);
            before = run.level;
        }
    }

    #[test]
    fn many_starts_in_one_interval_are_those_of_many_intervals() {
        let long = runs(86_400.0 * 30.0, &[[0.04, 0.06, 0.0]]).unwrap();
        let short = runs(60.0, &[[0.04, 0.06, 0.0]; 24 * 60 * 30]).unwrap();
        let starts: f64 = short.iter().map(|run| run.starts).sum();
        let turbined: f64 = short.iter().map(|run| run.turbined).sum();
        assert_eq!(long[0].starts, starts);
        assert!((long[0].turbined / turbined - 1.0).abs() < 1e-9);
        assert!((long[0].level - short.last().unwrap().level).abs() < 1e-6);
    }

    #[test]
    fn a_weir_settles_where_it_passes_what_comes() {
        let settled = runs(1e9, &[[0.25, 0.05, 0.0]]).unwrap();
        // 0.2 = 2 h^1.5
        assert!((settled[0].level - (2.0 + 0.1_f64.powf(2.0 / 3.0))).abs() < 1e-4);
        let flood = runs(1e9, &[[0.25, 0.05, 0.0], [9.0, 0.0, 0.0]]);
        let Err(refusal) = flood else { panic!("a flood above the table") };
        assert!(refusal.0.contains("interval 2"), "{refusal:?}");
    }

    #[test]
    fn an_empty_pond_gives_what_comes_and_fills_again() {
        let dry = runs(86_400.0, &[[0.0, 0.06, 0.01]; 3]).unwrap();
        assert_eq!(dry[0].level, 0.0);
        assert_eq!((dry[2].level, dry[2].turbined, dry[2].spilled), (0.0, 0.0, 0.0));
        let again = runs(86_400.0, &[[0.0, 0.06, 0.01], [0.005, 0.0, 0.0]]).unwrap();
        assert!((again[1].level - 0.864).abs() < 1e-9);
    }

    #[test]
    fn a_turbine_that_throttles_holds_its_level_and_leaves_it_again() {
        let outlets = Outlets { restart_level: 1.0, ..OUTLETS };
        let flows = [[0.0, 0.06, 0.01], [0.08, 0.06, 0.0], [0.02, 0.06, 0.0], [0.06, 0.06, 0.0]];
        let runs = run(&pond(), &outlets, 1.2, 10_000.0, flows.into_iter()).unwrap();
        // 600 m³ at 0.07 m³/s down to 500, then at 0.01; up at 0.08 to 500, then at 0.02.
        let ran = 100.0 / 0.07;
        let low = 500.0 - 0.01 * (10_000.0 - ran);
        let filling = (500.0 - low) / 0.08;
        let full = 500.0 + 0.02 * (10_000.0 - filling);
        assert!((runs[0].turbined - 0.06 * ran).abs() < 1e-6);
        assert!((runs[0].level - low / 500.0).abs() < 1e-9);
        assert!((runs[1].turbined - 0.06 * (10_000.0 - filling)).abs() < 1e-6);
        assert!((runs[1].level - full / 500.0).abs() < 1e-9);
        assert!((runs[2].turbined - (200.0 + full - 500.0)).abs() < 1e-6);
        assert_eq!((runs[2].level, runs[3].level), (1.0, 1.0));
        assert!((runs[3].turbined - 600.0).abs() < 1e-6);
        assert_eq!(runs[1].starts, 1.0);
    }

    #[test]
    fn levels_in_the_wrong_order_are_refused() {
        let outlets = Outlets { restart_level: 0.9, ..OUTLETS };
        let wrong = run(&pond(), &outlets, 1.2, 60.0, [[0.1, 0.1, 0.0]].into_iter());
        assert!(wrong.is_err_and(|refusal| refusal.0.starts_with("restart_level")));
        let beyond = run(&pond(), &OUTLETS, 3.1, 60.0, [[0.1, 0.1, 0.0]].into_iter());
        assert!(beyond.is_err_and(|refusal| refusal.0.starts_with("start_level")));
    }
}
