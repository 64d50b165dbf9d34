//! Random numbers that are the same on every machine and for every number of threads: ChaCha with
//! twelve rounds, a stream of its own for each block of samples, and no function of the platform.

use forebay_sheet::worksheet::Distribution;
use rand_chacha::ChaCha12Rng;
use rand_chacha::rand_core::{RngCore as _, SeedableRng as _};

use super::Uncertain;
use super::ties::Ties;

/// So many samples share a stream.
pub(super) const BLOCK: u64 = 1024;

/// Draws samples in their order.
pub(super) struct Draws {
    seed: u64,
    next: u64,
    numbers: ChaCha12Rng,
    /// The independent normal numbers behind what is tied.
    causes: Vec<f64>,
}

/// Numbers of one stream of a seed.
pub(crate) struct Stream(ChaCha12Rng);

impl Stream {
    pub(crate) fn new(seed: u64, stream: u64) -> Self {
        let mut numbers = ChaCha12Rng::seed_from_u64(seed);
        numbers.set_stream(stream);
        Self(numbers)
    }

    /// One of 2⁵³ numbers, neither 0 nor 1.
    pub(crate) fn between_0_and_1(&mut self) -> f64 {
        between_0_and_1(&mut self.0)
    }

    /// A number of the normal distribution of mean 0 and standard deviation 1.
    pub(crate) fn normal(&mut self) -> f64 {
        normal(self.between_0_and_1())
    }

    /// A whole number from 0 to below `count`, each as likely to 2⁻⁵³ of `count`.
    pub(crate) fn below(&mut self, count: usize) -> usize {
        // Below `count`, which is a number of values at hand.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let at = (self.between_0_and_1() * count as f64) as usize;
        at.min(count.saturating_sub(1))
    }
}

impl Draws {
    pub(super) fn new(seed: u64) -> Self {
        Self { seed, next: 0, numbers: ChaCha12Rng::seed_from_u64(seed), causes: Vec::new() }
    }

    /// The next sample: a number in SI for each known.
    ///
    /// What is tied is drawn from normal numbers with the coefficients of the sheet, each of which is
    /// then moved to its place in the distribution of its known; of distributions that are not
    /// normal the coefficient comes out up to 0.03 nearer to zero.
    pub(super) fn sample(&mut self, knowns: &[Uncertain], ties: &Ties, into: &mut Vec<f64>) {
        if self.next.is_multiple_of(BLOCK) {
            self.numbers = ChaCha12Rng::seed_from_u64(self.seed);
            self.numbers.set_stream(self.next / BLOCK);
        }
        self.next += 1;
        into.clear();
        into.resize(knowns.len(), f64::NAN);
        self.causes.clear();
        for (column, row) in ties.columns.iter().zip(&ties.factor) {
            let cause = normal(self.between_0_and_1());
            self.causes.push(cause);
            let sum: f64 = row.iter().zip(&self.causes).map(|(a, b)| a * b).sum();
            if let Some((into, known)) = column.and_then(|at| into.get_mut(at).zip(knowns.get(at)))
            {
                let unit = match known.spread.distribution {
                    Distribution::Normal => sum,
                    other => standard(other, normal_share_below(sum)),
                };
                *into = known.si + known.spread.half_width_si * unit;
            }
        }
        for (into, known) in into.iter_mut().zip(knowns).filter(|(into, _)| into.is_nan()) {
            let unit = match (known.spread.distribution, known.spread.degrees_of_freedom) {
                (Distribution::Normal, Some(degrees)) => self.student(degrees),
                (distribution, _) => standard(distribution, self.between_0_and_1()),
            };
            *into = known.si + known.spread.half_width_si * unit;
        }
    }

    /// A number of Student's t-distribution (JCGM 101:2008, 6.4.9): R. W. Bailey, Polar generation
    /// of random variates with the t-distribution, Mathematics of Computation 62 (1994) 779–781.
    fn student(&mut self, degrees: f64) -> f64 {
        loop {
            let u = 2.0 * self.between_0_and_1() - 1.0;
            let v = 2.0 * self.between_0_and_1() - 1.0;
            let w = u * u + v * v;
            if w > 0.0 && w <= 1.0 {
                return u * (degrees * (libm::pow(w, -2.0 / degrees) - 1.0) / w).sqrt();
            }
        }
    }
}

impl Draws {
    fn between_0_and_1(&mut self) -> f64 {
        between_0_and_1(&mut self.numbers)
    }
}

/// One of 2⁵³ numbers, neither 0 nor 1.
fn between_0_and_1(numbers: &mut ChaCha12Rng) -> f64 {
    // 53 bits are exact in an f64.
    ((numbers.next_u64() >> 11) as f64 + 0.5) / 9_007_199_254_740_992.0
}

/// The value of a distribution of middle 0 and half-width (of the normal: standard deviation) 1 at
/// a probability between 0 and 1. Square roots are exact on every machine.
fn standard(distribution: Distribution, p: f64) -> f64 {
    match distribution {
        Distribution::Normal => normal(p),
        Distribution::Rectangular => 2.0 * p - 1.0,
        Distribution::Triangular if p < 0.5 => (2.0 * p).sqrt() - 1.0,
        Distribution::Triangular => 1.0 - (2.0 * (1.0 - p)).sqrt(),
    }
}

/// The share of the normal distribution below a number.
fn normal_share_below(number: f64) -> f64 {
    0.5 * libm::erfc(-number * std::f64::consts::FRAC_1_SQRT_2)
}

/// The percentage point of the normal distribution: M. J. Wichura, Algorithm AS 241, Applied
/// Statistics 37 (1988) 477–484, PPND16, about 16 digits.
pub(super) fn normal(p: f64) -> f64 {
    const A: [f64; 8] = [
        3.387_132_872_796_366_5,
        1.331_416_678_917_843_8e2,
        1.971_590_950_306_551_3e3,
        1.373_169_376_550_946e4,
        4.592_195_393_154_987e4,
        6.726_577_092_700_87e4,
        3.343_057_558_358_813e4,
        2.509_080_928_730_122_7e3,
    ];
    const B: [f64; 8] = [
        1.0,
        4.231_333_070_160_091e1,
        6.871_870_074_920_579e2,
        5.394_196_021_424_751e3,
        2.121_379_430_158_659_7e4,
        3.930_789_580_009_271e4,
        2.872_908_573_572_194_3e4,
        5.226_495_278_852_854e3,
    ];
    const C: [f64; 8] = [
        1.423_437_110_749_683_5,
        4.630_337_846_156_546,
        5.769_497_221_460_691,
        3.647_848_324_763_204_5,
        1.270_458_252_452_368_4,
        2.417_807_251_774_506e-1,
        2.272_384_498_926_918_4e-2,
        7.745_450_142_783_414e-4,
    ];
    const D: [f64; 8] = [
        1.0,
        2.053_191_626_637_759,
        1.676_384_830_183_803_8,
        6.897_673_349_851e-1,
        1.481_039_764_274_800_8e-1,
        1.519_866_656_361_645_7e-2,
        5.475_938_084_995_345e-4,
        1.050_750_071_644_416_9e-9,
    ];
    const E: [f64; 8] = [
        6.657_904_643_501_103,
        5.463_784_911_164_114,
        1.784_826_539_917_291_3,
        2.965_605_718_285_048_7e-1,
        2.653_218_952_657_612_4e-2,
        1.242_660_947_388_078_4e-3,
        2.711_555_568_743_487_6e-5,
        2.010_334_399_292_288_1e-7,
    ];
    const F: [f64; 8] = [
        1.0,
        5.998_322_065_558_88e-1,
        1.369_298_809_227_358e-1,
        1.487_536_129_085_061_5e-2,
        7.868_691_311_456_133e-4,
        1.846_318_317_510_054_7e-5,
        1.421_511_758_316_446e-7,
        2.044_263_103_389_939_8e-15,
    ];
    let ratio = |r: f64, above: &[f64; 8], below: &[f64; 8]| {
        let polynomial = |of: &[f64; 8]| of.iter().rev().fold(0.0, |sum, term| sum * r + term);
        polynomial(above) / polynomial(below)
    };
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        return q * ratio(0.180_625 - q * q, &A, &B);
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    // A logarithm of our own choosing: that of the platform may differ in its last digit.
    let r = (-libm::log(tail)).sqrt();
    let value = if r <= 5.0 { ratio(r - 1.6, &C, &D) } else { ratio(r - 5.0, &E, &F) };
    if q < 0.0 { -value } else { value }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_normal_distribution_at_the_points_of_its_paper() {
        // Wichura (1988), the check values of PPND16.
        for (p, expected) in [
            (0.25, -0.674_489_750_196_081_7),
            (0.001, -3.090_232_306_167_813_5),
            (1e-20, -9.262_340_089_798_408),
        ] {
            let found = normal(p);
            assert!((found - expected).abs() <= 2e-15 * f64::abs(expected), "{p}: {found:.16}");
        }
        // Symmetric about the middle, and the 97.5 % point of every table.
        assert_eq!(normal(0.5), 0.0);
        assert!((normal(0.975) - 1.959_963_984_540_054).abs() < 1e-14);
        assert!((normal(0.9) + normal(0.1)).abs() < 1e-14);
    }

    #[test]
    fn rectangle_and_triangle_reach_from_end_to_end() {
        let at = |distribution, p| standard(distribution, p);
        assert_eq!(at(Distribution::Rectangular, 0.25), -0.5);
        // By hand: half the area of the lower half of a triangle lies below −1 + 1/√2.
        assert!((at(Distribution::Triangular, 0.25) + 1.0 - 0.5_f64.sqrt()).abs() < 1e-15);
        assert!((at(Distribution::Triangular, 0.75) - 1.0 + 0.5_f64.sqrt()).abs() < 1e-15);
        assert_eq!(at(Distribution::Triangular, 0.5), 0.0);
    }
}
