//! Miller's chart of conical diffusers as the bicubic spline that the library fluids 1.3.1 (MIT
//! licence, Caleb Bell and contributors) laid through it.

/// Knots over the logarithm of length over inlet radius.
const LENGTH_KNOTS: [f64; 15] = [
    -2.307_004_85,
    -2.307_004_85,
    -2.307_004_85,
    -2.307_004_85,
    -0.852_533_94,
    -0.082_403_63,
    0.591_592_8,
    0.898_280_43,
    1.231_582_21,
    1.534_329_2,
    1.977_479_2,
    2.990_267_37,
    2.990_267_37,
    2.990_267_37,
    2.990_267_37,
];

/// Knots over the logarithm of the ratio of the areas.
const AREA_KNOTS: [f64; 15] = [
    0.152_651_75,
    0.152_651_75,
    0.152_651_75,
    0.152_651_75,
    0.407_016_87,
    0.666_456_45,
    0.894_897_47,
    1.014_477_71,
    1.093_159_24,
    1.178_956_18,
    1.314_110_19,
    1.401_643_32,
    1.401_643_32,
    1.401_643_32,
    1.401_643_32,
];

const COEFFICIENTS: [[f64; 11]; 11] = [
    [
        0.060_362_97,
        0.083_224_77,
        0.153_301_86,
        0.232_562_31,
        0.317_621_26,
        0.400_209_14,
        0.438_594_46,
        0.520_034_49,
        0.606_849_2,
        0.564_481_26,
        0.520_693_18,
    ],
    [
        0.052_792_58,
        0.067_018_86,
        0.154_600_23,
        0.221_873_92,
        0.316_319,
        0.402_366_03,
        0.442_174_78,
        0.522_443_93,
        0.597_839_94,
        0.613_180_96,
        0.610_128_65,
    ],
    [
        0.057_083_55,
        0.068_436_28,
        0.089_437_14,
        0.266_607_49,
        0.309_357_98,
        0.392_030_57,
        0.445_031_41,
        0.532_099_67,
        0.559_801_51,
        0.904_529_04,
        1.127_854_31,
    ],
    [
        0.004_082_13,
        0.087_266_74,
        0.057_680_23,
        0.201_800_62,
        0.314_964_84,
        0.385_670_84,
        0.443_217_37,
        0.515_055_55,
        0.544_772_79,
        0.825_145_63,
        0.996_071_1,
    ],
    [
        -0.111_068_2,
        0.073_148_91,
        0.061_762_8,
        0.142_103_38,
        0.221_133_55,
        0.343_035,
        0.401_309_97,
        0.499_820_98,
        0.534_891_76,
        0.616_371_95,
        0.682_338_58,
    ],
    [
        -0.216_637_81,
        0.038_839_37,
        0.062_864_77,
        0.107_723_11,
        0.169_318_93,
        0.229_201_55,
        0.321_891_34,
        0.409_152_34,
        0.512_299_79,
        0.555_725_95,
        0.583_489_24,
    ],
    [
        -0.278_425_87,
        0.016_149_84,
        0.066_571_76,
        0.069_872_87,
        0.113_476_84,
        0.182_713_25,
        0.243_812_27,
        0.336_997_52,
        0.432_854_34,
        0.493_208_41,
        0.517_290_25,
    ],
    [
        -0.311_030_47,
        -0.025_548_58,
        0.049_457_55,
        0.069_353_93,
        0.056_443_99,
        0.085_332_42,
        0.154_586_8,
        0.245_668_77,
        0.353_246_86,
        0.409_560_52,
        0.427_766_17,
    ],
    [
        -0.272_861_75,
        -0.154_883_46,
        -0.092_432_46,
        0.034_557_83,
        0.082_956_32,
        0.055_066_82,
        0.070_272_48,
        0.134_583_55,
        0.210_842_1,
        0.297_170_52,
        0.319_482_95,
    ],
    [
        -0.080_630_78,
        -0.425_339_73,
        -0.621_519_16,
        -0.294_675_22,
        0.018_448_01,
        0.084_123_27,
        0.083_374_2,
        0.131_275_82,
        0.162_316_69,
        0.213_521_11,
        0.239_401_16,
    ],
    [
        0.144_844_15,
        -0.781_141_32,
        -1.441_245_24,
        -0.626_658_37,
        0.019_328_25,
        0.079_391_25,
        0.075_701_15,
        0.108_185_71,
        0.149_315_29,
        0.184_526_09,
        0.197_571_39,
    ],
];

/// How far the chart goes; beyond it the value at its edge stands.
pub(crate) const LENGTHS: (f64, f64) = (0.1, 20.0);
pub(crate) const AREA_RATIOS: (f64, f64) = (1.1, 4.0);

/// Length over inlet radius, and the ratio of the areas.
pub(crate) fn shape(d1: f64, d2: f64, alpha: f64) -> (f64, f64) {
    ((d2 / d1 - 1.0) / (alpha / 2.0).tan(), (d2 / d1).powi(2))
}

/// Loss coefficient on the velocity before the cone.
pub(crate) fn miller(d1: f64, d2: f64, alpha: f64) -> f64 {
    let (length, ratio) = shape(d1, d2, alpha);
    let x = length.clamp(LENGTHS.0, LENGTHS.1).ln();
    let y = ratio.clamp(AREA_RATIOS.0, AREA_RATIOS.1).ln();
    let (row, over_length) = basis(&LENGTH_KNOTS, x);
    let (column, over_area) = basis(&AREA_KNOTS, y);
    let mut sum = 0.0;
    for (coefficients, a) in COEFFICIENTS.iter().skip(row).zip(over_length) {
        for (coefficient, b) in coefficients.iter().skip(column).zip(over_area) {
            sum += coefficient * a * b;
        }
    }
    // The fit dips below nothing in the corner of short cones, where the chart is empty.
    f64::max(sum, 0.0)
}

/// The four cubic B-splines that are not zero at `x`, and the place of the first (Cox and de Boor).
fn basis(knots: &[f64; 15], x: f64) -> (usize, [f64; 4]) {
    let span = (4..11).rev().find(|at| knots[*at] <= x).unwrap_or(3);
    let mut splines = [1.0, 0.0, 0.0, 0.0];
    for degree in 1..4 {
        let mut carried = 0.0;
        for place in 0..degree {
            let (right, left) = (knots[span + place + 1], knots[span + place + 1 - degree]);
            let share = splines[place] / (right - left);
            splines[place] = carried + (right - x) * share;
            carried = (x - left) * share;
        }
        splines[degree] = carried;
    }
    (span - 3, splines)
}
