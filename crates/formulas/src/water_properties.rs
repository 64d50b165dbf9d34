//! Properties of liquid water by the published equations of the IAPWS, at the pressure of the air.

use crate::usual::ZERO_CELSIUS;

/// Gas constant of water, J/(kg K): IAPWS R7-97.
const R: f64 = 461.526;
/// Pressure at which the liquid is taken, Pa.
const P: f64 = 101_325.0;

/// Exponents and coefficients of the Gibbs energy of the liquid: IAPWS R7-97, table 2.
const REGION_1: [(i32, i32, f64); 34] = [
    (0, -2, 0.146_329_712_131_67),
    (0, -1, -0.845_481_871_691_14),
    (0, 0, -3.756_360_367_204),
    (0, 1, 3.385_516_916_838_5),
    (0, 2, -0.957_919_633_878_72),
    (0, 3, 0.157_720_385_132_28),
    (0, 4, -0.016_616_417_199_501),
    (0, 5, 0.812_146_299_835_68e-3),
    (1, -9, 0.283_190_801_238_04e-3),
    (1, -7, -0.607_063_015_658_74e-3),
    (1, -1, -0.018_990_068_218_419),
    (1, 0, -0.032_529_748_770_505),
    (1, 1, -0.021_841_717_175_414),
    (1, 3, -0.528_383_579_699_30e-4),
    (2, -3, -0.471_843_210_732_67e-3),
    (2, 0, -0.300_017_807_930_26e-3),
    (2, 1, 0.476_613_939_069_87e-4),
    (2, 3, -0.441_418_453_308_46e-5),
    (2, 17, -0.726_949_962_975_94e-15),
    (3, -4, -0.316_796_448_450_54e-4),
    (3, 0, -0.282_707_979_853_12e-5),
    (3, 6, -0.852_051_281_201_03e-9),
    (4, -5, -0.224_252_819_080_00e-5),
    (4, -2, -0.651_712_228_956_01e-6),
    (4, 10, -0.143_417_299_379_24e-12),
    (5, -8, -0.405_169_968_601_17e-6),
    (8, -11, -0.127_343_017_416_41e-8),
    (8, -6, -0.174_248_712_306_34e-9),
    (21, -29, -0.687_621_312_955_31e-18),
    (23, -31, 0.144_783_078_285_21e-19),
    (29, -38, 0.263_357_816_627_95e-22),
    (30, -39, -0.119_476_226_400_71e-22),
    (31, -40, 0.182_280_945_814_04e-23),
    (32, -41, -0.935_370_872_924_58e-25),
];

/// Coefficients of the saturation line: IAPWS R7-97, table 34.
const REGION_4: [f64; 10] = [
    0.116_705_214_527_67e4,
    -0.724_213_167_032_06e6,
    -0.170_738_469_400_92e2,
    0.120_208_247_024_70e5,
    -0.323_255_503_223_33e7,
    0.149_151_086_135_30e2,
    -0.482_326_573_615_91e4,
    0.405_113_405_420_57e6,
    -0.238_555_575_678_49,
    0.650_175_348_447_98e3,
];

/// Coefficients of the speed of sound in ((t − 50 °C)/50 K)ⁱ, m/s: least squares to values of IAPWS-95
/// by iapws 1.5.5 every 1.5 K from 0 to 99 °C at 101 325 Pa, off by less than 2e-7. IF97 itself is up
/// to 0.16 % too high here.
const SOUND: [f64; 9] = [
    1_542.577_33,
    54.569_11,
    -65.806_51,
    15.044_45,
    -3.803_29,
    0.588_92,
    -0.086_13,
    0.184_25,
    -0.111_95,
];

/// Density, kg/m³; `t` in K.
pub(crate) fn density(t: f64) -> f64 {
    let (pi, tau) = (P / 16.53e6, 1386.0 / t);
    let (x, y) = (7.1 - pi, tau - 1.222);
    // Only the terms that change with pressure weigh in.
    let with_pressure = REGION_1.iter().filter(|(i, ..)| *i > 0);
    let g_p: f64 =
        with_pressure.map(|(i, j, n)| -n * f64::from(*i) * x.powi(i - 1) * y.powi(*j)).sum();
    P / (R * t * pi * g_p)
}

/// Speed of sound, m/s.
pub(crate) fn sound_speed(t: f64) -> f64 {
    let x = (t - ZERO_CELSIUS - 50.0) / 50.0;
    SOUND.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
}

/// Isentropic bulk modulus, Pa.
pub(crate) fn bulk_modulus(t: f64) -> f64 {
    density(t) * sound_speed(t).powi(2)
}

/// Dynamic viscosity at 0.1 MPa, Pa·s: IAPWS SR6-08.
pub(crate) fn viscosity(t: f64) -> f64 {
    let t = t / 300.0;
    1e-6 * (280.68 * t.powf(-1.9)
        + 511.45 * t.powf(-7.7)
        + 61.131 * t.powf(-19.6)
        + 0.459_03 * t.powf(-40.0))
}

/// Kinematic viscosity, m²/s.
pub(crate) fn kinematic_viscosity(t: f64) -> f64 {
    viscosity(t) / density(t)
}

/// Saturation pressure, Pa.
pub(crate) fn vapour_pressure(t: f64) -> f64 {
    let [n1, n2, n3, n4, n5, n6, n7, n8, n9, n10] = REGION_4;
    let theta = t + n9 / (t - n10);
    let a = theta * theta + n1 * theta + n2;
    let b = n3 * theta * theta + n4 * theta + n5;
    let c = n6 * theta * theta + n7 * theta + n8;
    1e6 * (2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())).powi(4)
}
