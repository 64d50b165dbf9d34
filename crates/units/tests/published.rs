//! Conversions held against print: NIST Special Publication 811 (2008 edition), appendix B, unless
//! a line says otherwise. Exact definitions are held to the last bits that a number has. Lines with
//! a number (U001) stand in the list of checks of the whole project; those without quote the same
//! appendix from memory.

// Helpers of tests may unwrap as tests do.
#![allow(clippy::unwrap_used)]

use forebay_units::{Quantity, Unit};

/// One of `from` is `expected` of `to`, within a relative tolerance.
#[track_caller]
fn check(from: &str, expected: f64, to: &str, tolerance: f64) {
    let got = Quantity::parse(from).unwrap().in_unit(&Unit::parse(to).unwrap()).unwrap();
    let off = ((got - expected) / expected).abs();
    assert!(off <= tolerance, "{from} is {got} {to}, expected {expected}, off by {off:e}");
}

/// As near as a conversion through SI can come to an exact definition.
const EXACT: f64 = 4.0 * f64::EPSILON;

#[test]
fn lengths_areas_volumes_and_flows() {
    check("1 ft", 0.3048, "m", 0.0); // U001
    check("1 in", 25.4, "mm", EXACT); // U002
    check("1 mi", 1.609_344, "km", EXACT);
    check("1 gal_US", 3.785_411_784, "L", EXACT); // U003, 231 in³
    check("1 gal_UK", 4.546_09, "L", EXACT);
    check("1 gpm", 6.309_019_64e-5, "m3/s", 1e-9); // U005
    check("1 cfs", 0.028_316_846_592, "m3/s", EXACT); // U006
    check("1 cfm", 4.719_474e-4, "m^3/s", 1e-6);
    check("1 oz_fl_US", 29.573_53, "mL", 1e-6);
    check("1 cmil", 5.067_075e-4, "mm2", 2e-7); // U032
    // 43 560 × 0.3048³; the survey foot gives 1233.4892.
    check("1 acre_ft", 1_233.481_837_547_52, "m3", 1e-14); // U019
    check("1 acre", 4_046.856_422_4, "m^2", EXACT);
    // Printed as 1.983471 acre-feet a day in USGS water-supply papers, definition of terms.
    check("1 cfs·d", 1.983_471, "acre_ft", 3e-7); // U021
    check("1 cfs_day", 1.983_471, "acre_ft", 3e-7);
}

#[test]
fn pressures() {
    check("1 psi", 6_894.757, "Pa", 5e-8); // U008, as printed
    check("1 psi", 6_894.757_293_168_36, "Pa", 1e-14); // U008, lbf/in² worked out
    check("1 inHg", 3_386.389, "Pa", 2e-7); // U009
    check("1 mmHg", 133.322_4, "Pa", 2e-7);
    check("1 ftH2O", 2_989.066_92, "Pa", EXACT); // U011
    check("1 mH2O", 9.806_65, "kPa", EXACT); // U012
    check("1 inH2O", 249.088_91, "Pa", EXACT);
    check("1 atm", 101.325, "kPa", EXACT);
    check("14.695_949 psia", 101.325, "kPa_abs", 5e-8);
    check("10 inHg_vacuum", -33.863_89, "kPa", 2e-7);
    check("0.3 bar_vacuum", -30.0, "kPa_gauge", EXACT);
}

#[test]
fn power_energy_and_force() {
    check("1 hp_mechanical", 745.699_871_582_27, "W", 1e-14); // U013, 550 ft·lbf/s
    check("1 hp_metric", 735.498_75, "W", EXACT);
    check("1 hp_electric", 746.0, "W", 0.0); // U015
    check("1 Btu_IT", 1_055.055_852_62, "J", EXACT); // U016
    check("1 Btu_th", 1_054.350, "J", 3e-7);
    check("1 kWh", 3.6, "MJ", 0.0); // U018
    check("1 ft_lbf", 1.355_818, "J", 4e-7);
    check("1 lbf", 4.448_221_615_260_5, "N", EXACT);
    check("1 slug", 14.593_90, "kg", 4e-7);
    check("1 ton_short", 907.184_74, "kg", EXACT);
    check("1 oz_av", 28.349_52, "g", 2e-7);
}

#[test]
fn temperatures_and_rotation() {
    check("60 degF", 15.555_555_555_555_6, "degC", 1e-13); // U024
    check("15 degC", 288.15, "K_abs", 0.0); // U026
    check("9 delta_degF", 5.0, "K", EXACT);
    check("600 rpm", 62.831_853_071_795_9, "rad/s", 1e-14); // U027
    check("1 deg", 1.745_329e-2, "rad", 2e-7);
    check("1 yr", 3.153_6e7, "s", 0.0); // the year of 365 days
    check("1 cP", 1e-3, "Pa*s", EXACT);
    check("1 cSt", 1.0, "mm^2/s", EXACT);
}

#[test]
fn a_conversion_can_fail() {
    // The US survey foot would give this acre-foot (factor (1200/3937/0.3048)³ greater): the
    // checks above can tell the two apart.
    let survey = 43_560.0 * (1200.0_f64 / 3937.0).powi(3);
    let ours = Quantity::parse("1 acre_ft").unwrap().si();
    assert!((survey / ours - 1.0).abs() > 5e-6);
}
