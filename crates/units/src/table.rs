//! The table of units: one row per unit, its factor written as an expression of exact definitions.
//!
//! The definitions were written down from memory of the works that each row names;
//! `tests/published.rs` holds the usual ones against printed factors.

use std::f64::consts::PI;
use std::sync::LazyLock;

use crate::dimension::Dimension;
use crate::money::Currency;

/// One unit.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The canonical spelling, the one that results are shown with.
    pub symbol: &'static str,
    /// Other spellings that are read.
    pub spellings: &'static [&'static str],
    /// The name in words, `metre`.
    pub name: &'static str,
    /// What it measures; absolute for readings from the true zero.
    pub dimension: Dimension,
    /// How many coherent SI units one of it is. Negative for vacuum readings.
    pub factor: f64,
    /// The coherent SI value of its zero.
    pub offset: f64,
    /// The SI prefixes that it takes, as letters; `µ` is also read as `u`.
    pub prefixes: &'static str,
    /// For a reading that cannot be combined with other units: the difference unit that can.
    pub difference: Option<&'static str>,
    /// Whether it belongs to US practice alone, so that a sheet in SI shows another unit.
    pub customary: bool,
    /// Where the definition stands.
    pub source: &'static str,
    /// The currency, for a unit of money.
    pub currency: Option<Currency>,
}

/// A word that several units claim.
#[derive(Clone, Copy, Debug)]
pub struct AmbiguousWord {
    /// The spellings that are refused.
    pub words: &'static [&'static str],
    /// The units it could mean.
    pub choices: &'static [&'static str],
}

/// A word that looks like a unit and is none.
#[derive(Clone, Copy, Debug)]
pub struct RefusedWord {
    /// The spellings that are refused.
    pub words: &'static [&'static str],
    /// Why, and what to write instead.
    pub why: &'static str,
}

/// Every unit: those of the table, then the currencies.
pub fn catalogue() -> impl Iterator<Item = &'static Row> {
    UNITS.iter().chain(MONEY.iter())
}

/// The units whose symbol, spelling or name contains this text, whatever the case.
pub fn search(text: &str) -> impl Iterator<Item = &'static Row> {
    let wanted = text.trim().to_lowercase();
    catalogue().filter(move |row| {
        row.name.to_lowercase().contains(&wanted)
            || row.symbol.to_lowercase().contains(&wanted)
            || row.spellings.iter().any(|s| s.to_lowercase().contains(&wanted))
    })
}

/// The words that are refused because several units claim them.
#[must_use]
pub fn ambiguous_words() -> &'static [AmbiguousWord] {
    AMBIGUOUS
}

/// The words that are refused because they are no unit of fixed size.
#[must_use]
pub fn refused_words() -> &'static [RefusedWord] {
    REFUSED
}

const SI: &str = "SI Brochure, 9th ed. (2019)";
const WITH_SI: &str = "SI Brochure, 9th ed. (2019), table 8";
const NIST: &str = "NIST SP 811 (2008), appendix B";
const ISO_4217: &str = "ISO 4217";
const RATIO: &str = "definition";
const HERE: &str = "NIST SP 811 (2008), appendix B; from the true zero or as a reading";

const GRAVITY: f64 = 9.80665;
const INCH: f64 = 0.0254;
const FOOT: f64 = 0.3048;
const CUBIC_FOOT: f64 = FOOT * FOOT * FOOT;
const POUND: f64 = 0.453_592_37;
const POUND_FORCE: f64 = POUND * GRAVITY;
const PSI: f64 = POUND_FORCE / (INCH * INCH);
const GALLON_US: f64 = 231.0 * INCH * INCH * INCH;
const GALLON_UK: f64 = 4.546_09e-3;
/// Conventional mercury, 13 595.1 kg/m³ under standard gravity.
const MERCURY: f64 = 13_595.1 * GRAVITY;
/// Conventional water, 1000 kg/m³ under standard gravity.
const WATER: f64 = 1000.0 * GRAVITY;
const MINUTE: f64 = 60.0;
const HOUR: f64 = 3600.0;
const DAY: f64 = 86_400.0;

const NONE: Dimension = Dimension::NONE;
const LENGTH: Dimension = Dimension::LENGTH;
const AREA: Dimension = Dimension::AREA;
const VOLUME: Dimension = Dimension::VOLUME;
const MASS: Dimension = Dimension::MASS;
const TIME: Dimension = Dimension::TIME;
const VELOCITY: Dimension = Dimension::VELOCITY;
const FLOW: Dimension = Dimension::FLOW;
const FORCE: Dimension = Dimension::FORCE;
const GAUGE: Dimension = Dimension::PRESSURE_DIFFERENCE;
const ABSOLUTE: Dimension = Dimension::PRESSURE;
const ENERGY: Dimension = Dimension::ENERGY;
const POWER: Dimension = Dimension::POWER;
const ANGLE: Dimension = Dimension::ANGLE;
const KELVINS: Dimension = Dimension::TEMPERATURE_DIFFERENCE;
const TEMPERATURE: Dimension = Dimension::TEMPERATURE;

const fn row(
    symbol: &'static str,
    spellings: &'static [&'static str],
    name: &'static str,
    dimension: Dimension,
    factor: f64,
    source: &'static str,
) -> Row {
    Row {
        symbol,
        spellings,
        name,
        dimension,
        factor,
        offset: 0.0,
        prefixes: "",
        difference: None,
        customary: false,
        source,
        currency: None,
    }
}

impl Row {
    const fn with(self, prefixes: &'static str) -> Self {
        Self { prefixes, ..self }
    }

    const fn us(self) -> Self {
        Self { customary: true, ..self }
    }

    const fn from(self, offset: f64) -> Self {
        Self { offset, ..self }
    }

    const fn alone(self, difference: &'static str) -> Self {
        Self { difference: Some(difference), ..self }
    }
}

#[rustfmt::skip]
static UNITS: &[Row] = &[
    // Ratios.
    row("%", &["percent"], "percent", NONE, 0.01, RATIO),
    row("points", &["point"], "percentage point", NONE, 0.01, RATIO),
    row("permille", &["‰"], "per thousand", NONE, 0.001, RATIO),
    row("ppm", &[], "part per million", NONE, 1e-6, RATIO),
    row("ppb", &[], "part per billion (10^-9)", NONE, 1e-9, RATIO),
    // Length.
    row("m", &[], "metre", LENGTH, 1.0, SI).with("kdcmµn"),
    row("in", &["inch", "inches"], "inch", LENGTH, INCH, NIST).us(),
    row("ft", &["foot", "feet"], "foot (international)", LENGTH, FOOT, NIST).us(),
    row("yd", &[], "yard", LENGTH, 3.0 * FOOT, NIST).us(),
    row("mi", &["mile", "miles"], "mile (international)", LENGTH, 5280.0 * FOOT, NIST).us(),
    row("mil", &["mils", "thou"], "thousandth of an inch", LENGTH, INCH / 1000.0, NIST).us(),
    // Area.
    row("ha", &[], "hectare", AREA, 1e4, WITH_SI),
    row("acre", &["acres"], "acre (international foot)", AREA, 43_560.0 * FOOT * FOOT, "43 560 square international feet; the US survey foot ended with 2022").us(),
    row("cmil", &[], "circular mil", AREA, PI / 4.0 * (INCH / 1000.0) * (INCH / 1000.0), NIST).us(),
    row("kcmil", &["MCM"], "thousand circular mils", AREA, PI / 4.0 * (INCH / 1000.0) * INCH, NIST).us(),
    // Volume.
    row("L", &["l"], "litre", VOLUME, 1e-3, WITH_SI).with("kMhdcmµ"),
    row("gal_US", &["gallon_US"], "US liquid gallon", VOLUME, GALLON_US, NIST).us(),
    row("gal_UK", &["gallon_UK", "gal_imp"], "imperial gallon", VOLUME, GALLON_UK, NIST),
    row("quart_US", &["qt_US"], "US liquid quart", VOLUME, GALLON_US / 4.0, NIST).us(),
    row("quart_UK", &["qt_UK"], "imperial quart", VOLUME, GALLON_UK / 4.0, NIST),
    row("pint_US", &["pt_US"], "US liquid pint", VOLUME, GALLON_US / 8.0, NIST).us(),
    row("pint_UK", &["pt_UK"], "imperial pint", VOLUME, GALLON_UK / 8.0, NIST),
    row("oz_fl_US", &["fl_oz_US"], "US fluid ounce", VOLUME, GALLON_US / 128.0, NIST).us(),
    row("oz_fl_UK", &["fl_oz_UK"], "imperial fluid ounce", VOLUME, GALLON_UK / 160.0, NIST),
    row("acre_ft", &["acre_foot", "acre_feet"], "acre-foot (international foot)", VOLUME, 43_560.0 * CUBIC_FOOT, "43 560 cubic international feet; the US survey foot ended with 2022").us(),
    row("cfs_day", &["cfs_days"], "cubic foot per second for one day", VOLUME, CUBIC_FOOT * DAY, "USGS water-supply papers, definition of terms").us(),
    // Mass.
    row("g", &[], "gram", MASS, 1e-3, SI).with("kmµn"),
    row("t", &["tonne", "tonnes"], "tonne", MASS, 1e3, WITH_SI),
    row("lb", &["lbs", "pound", "pounds"], "pound (mass)", MASS, POUND, NIST).us(),
    row("oz_av", &[], "ounce (avoirdupois)", MASS, POUND / 16.0, NIST).us(),
    row("oz_troy", &[], "troy ounce", MASS, 31.103_476_8e-3, NIST),
    row("slug", &["slugs"], "slug", MASS, POUND_FORCE / FOOT, NIST).us(),
    row("ton_short", &[], "short ton (2000 lb)", MASS, 2000.0 * POUND, NIST).us(),
    row("ton_long", &[], "long ton (2240 lb)", MASS, 2240.0 * POUND, NIST),
    // Time.
    row("s", &["second", "seconds"], "second", TIME, 1.0, SI).with("mµn"),
    row("min", &["minute", "minutes"], "minute", TIME, MINUTE, WITH_SI),
    row("h", &["hour", "hours"], "hour", TIME, HOUR, WITH_SI),
    row("d", &["day", "days"], "day", TIME, DAY, WITH_SI),
    row("week", &["weeks"], "week", TIME, 7.0 * DAY, "7 days"),
    row("yr", &["year", "years"], "year of 365 days", TIME, 365.0 * DAY, NIST),
    // Velocity and volume flow.
    row("mph", &[], "mile per hour", VELOCITY, 5280.0 * FOOT / HOUR, NIST).us(),
    row("cumec", &["cumecs"], "cubic metre per second", FLOW, 1.0, RATIO),
    row("cfs", &["cusec", "cusecs"], "cubic foot per second", FLOW, CUBIC_FOOT, NIST).us(),
    row("cfm", &[], "cubic foot per minute", FLOW, CUBIC_FOOT / MINUTE, NIST).us(),
    row("gpm", &["gpm_US"], "US gallon per minute", FLOW, GALLON_US / MINUTE, NIST).us(),
    row("gpm_UK", &[], "imperial gallon per minute", FLOW, GALLON_UK / MINUTE, NIST),
    row("MGD_US", &[], "million US gallons per day", FLOW, 1e6 * GALLON_US / DAY, NIST).us(),
    row("MGD_UK", &[], "million imperial gallons per day", FLOW, 1e6 * GALLON_UK / DAY, NIST),
    // Force and torque.
    row("N", &[], "newton", FORCE, 1.0, SI).with("kMm"),
    row("lbf", &[], "pound-force", FORCE, POUND_FORCE, NIST).us(),
    row("kgf", &["kp"], "kilogram-force", FORCE, GRAVITY, NIST),
    row("Nm", &[], "newton metre (torque)", ENERGY, 1.0, SI).with("kM"),
    row("lbf_ft", &[], "pound-force foot (torque)", ENERGY, POUND_FORCE * FOOT, NIST).us(),
    // Pressure differences; a gauge reading is one, against the air outside.
    row("Pa", &[], "pascal", GAUGE, 1.0, SI).with("GMkhm"),
    row("bar", &[], "bar", GAUGE, 1e5, NIST).with("m"),
    row("atm", &[], "standard atmosphere", GAUGE, 101_325.0, NIST),
    row("psi", &[], "pound-force per square inch", GAUGE, PSI, NIST).us(),
    row("ksi", &[], "thousand pound-force per square inch", GAUGE, 1000.0 * PSI, NIST).us(),
    row("inHg", &[], "inch of mercury (conventional)", GAUGE, MERCURY * INCH, NIST).us(),
    row("mmHg", &[], "millimetre of mercury (conventional)", GAUGE, MERCURY / 1000.0, NIST),
    row("mH2O", &[], "metre of water (conventional)", GAUGE, WATER, NIST),
    row("cmH2O", &[], "centimetre of water (conventional)", GAUGE, WATER / 100.0, NIST),
    row("mmH2O", &[], "millimetre of water (conventional)", GAUGE, WATER / 1000.0, NIST),
    row("inH2O", &[], "inch of water (conventional)", GAUGE, WATER * INCH, NIST).us(),
    row("ftH2O", &[], "foot of water (conventional)", GAUGE, WATER * FOOT, NIST).us(),
    row("Pa_gauge", &[], "pascal, gauge", GAUGE, 1.0, HERE).with("kM"),
    row("bar_gauge", &["barg"], "bar, gauge", GAUGE, 1e5, HERE).with("m"),
    row("psig", &["psi_gauge"], "pound-force per square inch, gauge", GAUGE, PSI, HERE).us(),
    row("inHg_gauge", &[], "inch of mercury, gauge", GAUGE, MERCURY * INCH, HERE).us(),
    row("mmHg_gauge", &[], "millimetre of mercury, gauge", GAUGE, MERCURY / 1000.0, HERE),
    // Vacuum readings: below the air outside, so the difference is negative.
    row("Pa_vacuum", &[], "pascal, below the air outside", GAUGE, -1.0, HERE).with("k").alone("Pa"),
    row("bar_vacuum", &[], "bar, below the air outside", GAUGE, -1e5, HERE).with("m").alone("bar"),
    row("psi_vacuum", &[], "pound-force per square inch, below the air outside", GAUGE, -PSI, HERE).alone("psi").us(),
    row("inHg_vacuum", &[], "inch of mercury, below the air outside", GAUGE, -MERCURY * INCH, HERE).alone("inHg").us(),
    row("mmHg_vacuum", &[], "millimetre of mercury, below the air outside", GAUGE, -MERCURY / 1000.0, HERE).alone("mmHg"),
    // Absolute pressures.
    row("Pa_abs", &[], "pascal, absolute", ABSOLUTE, 1.0, HERE).with("Mkh").alone("Pa"),
    row("bar_abs", &["bara"], "bar, absolute", ABSOLUTE, 1e5, HERE).with("m").alone("bar"),
    row("atm_abs", &[], "standard atmosphere, absolute", ABSOLUTE, 101_325.0, HERE).alone("atm"),
    row("psia", &["psi_abs"], "pound-force per square inch, absolute", ABSOLUTE, PSI, HERE).alone("psi").us(),
    row("inHg_abs", &[], "inch of mercury, absolute", ABSOLUTE, MERCURY * INCH, HERE).alone("inHg").us(),
    row("mmHg_abs", &[], "millimetre of mercury, absolute", ABSOLUTE, MERCURY / 1000.0, HERE).alone("mmHg"),
    row("mH2O_abs", &[], "metre of water, absolute", ABSOLUTE, WATER, HERE).alone("mH2O"),
    row("ftH2O_abs", &[], "foot of water, absolute", ABSOLUTE, WATER * FOOT, HERE).alone("ftH2O").us(),
    // Energy and power.
    row("J", &[], "joule", ENERGY, 1.0, SI).with("TGMkm"),
    row("Wh", &[], "watt hour", ENERGY, HOUR, NIST).with("TGMkm"),
    row("varh", &[], "var hour (reactive energy)", ENERGY, HOUR, SI).with("Mk"),
    row("VAh", &[], "volt-ampere hour (apparent energy)", ENERGY, HOUR, SI).with("Mk"),
    row("Btu_IT", &[], "British thermal unit (International Table)", ENERGY, 4186.8 * POUND / 1.8, NIST).us(),
    row("Btu_th", &[], "British thermal unit (thermochemical)", ENERGY, 4184.0 * POUND / 1.8, NIST),
    row("cal_IT", &[], "calorie (International Table)", ENERGY, 4.1868, NIST).with("k"),
    row("cal_th", &[], "calorie (thermochemical)", ENERGY, 4.184, NIST).with("k"),
    row("ft_lbf", &[], "foot pound-force", ENERGY, FOOT * POUND_FORCE, NIST).us(),
    row("W", &[], "watt", POWER, 1.0, SI).with("TGMkmµ"),
    row("VA", &[], "volt-ampere (apparent power)", POWER, 1.0, SI).with("GMk"),
    row("var", &[], "var (reactive power)", POWER, 1.0, SI).with("Mk"),
    row("hp_mechanical", &[], "horsepower (550 ft·lbf/s)", POWER, 550.0 * FOOT * POUND_FORCE, NIST).us(),
    row("hp_metric", &["PS", "cv"], "metric horsepower (75 m·kgf/s)", POWER, 75.0 * GRAVITY, NIST),
    row("hp_electric", &[], "electric horsepower", POWER, 746.0, NIST),
    // Angle, rotation and frequency, which are three different things.
    row("rad", &[], "radian", ANGLE, 1.0, SI).with("mµ"),
    row("deg", &["°"], "degree of angle", ANGLE, PI / 180.0, WITH_SI),
    row("rev", &["turn", "turns"], "revolution", ANGLE, 2.0 * PI, NIST),
    row("rpm", &[], "revolution per minute", Dimension::ROTATION, 2.0 * PI / MINUTE, NIST).with("k"),
    row("Hz", &[], "hertz", Dimension::FREQUENCY, 1.0, SI).with("GMkm"),
    // Temperature differences, then temperatures.
    row("K", &[], "kelvin (difference)", KELVINS, 1.0, SI).with("m"),
    row("delta_degC", &[], "degree Celsius (difference)", KELVINS, 1.0, SI),
    row("delta_degF", &[], "degree Fahrenheit (difference)", KELVINS, 5.0 / 9.0, NIST).us(),
    row("K_abs", &[], "kelvin (temperature)", TEMPERATURE, 1.0, SI).alone("K"),
    row("degC", &["°C", "℃"], "degree Celsius (temperature)", TEMPERATURE, 1.0, SI).from(273.15).alone("K"),
    row("degF", &["°F", "℉"], "degree Fahrenheit (temperature)", TEMPERATURE, 5.0 / 9.0, NIST).from(459.67 * 5.0 / 9.0).alone("delta_degF").us(),
    // Electricity.
    row("A", &[], "ampere", Dimension::CURRENT, 1.0, SI).with("kmµ"),
    row("C", &[], "coulomb", Dimension::CHARGE, 1.0, SI).with("kmµ"),
    row("Ah", &[], "ampere hour", Dimension::CHARGE, HOUR, NIST).with("km"),
    row("V", &[], "volt", Dimension::VOLTAGE, 1.0, SI).with("Mkmµ"),
    row("ohm", &["Ω", "\u{2126}"], "ohm", Dimension::RESISTANCE, 1.0, SI).with("Mkmµn"),
    row("S", &[], "siemens", Dimension::of(-2, -1, 3, 2, 0, 0, 0), 1.0, SI).with("kmµ"),
    row("F", &[], "farad", Dimension::CAPACITANCE, 1.0, SI).with("mµnp"),
    row("H", &[], "henry", Dimension::INDUCTANCE, 1.0, SI).with("mµn"),
    row("Wb", &[], "weber", Dimension::of(2, 1, -2, -1, 0, 0, 0), 1.0, SI).with("m"),
    row("T", &[], "tesla", Dimension::of(0, 1, -2, -1, 0, 0, 0), 1.0, SI).with("mµ"),
    // Viscosity.
    row("P", &[], "poise", Dimension::DYNAMIC_VISCOSITY, 0.1, NIST).with("c"),
    row("St", &[], "stokes", Dimension::KINEMATIC_VISCOSITY, 1e-4, NIST).with("c"),
];

/// Currencies as units of money.
static MONEY: LazyLock<Vec<Row>> = LazyLock::new(|| {
    Currency::all()
        .map(|currency| Row {
            currency: Some(currency),
            ..row(currency.code(), &[], currency.name(), Dimension::MONEY, 1.0, ISO_4217)
        })
        .collect()
});

#[rustfmt::skip]
static AMBIGUOUS: &[AmbiguousWord] = &[
    AmbiguousWord { words: &["gal", "gals", "gallon", "gallons"], choices: &["gal_US", "gal_UK"] },
    AmbiguousWord { words: &["MGD", "mgd"], choices: &["MGD_US", "MGD_UK"] },
    AmbiguousWord { words: &["hp", "HP", "Hp", "bhp", "horsepower"], choices: &["hp_mechanical", "hp_metric", "hp_electric"] },
    AmbiguousWord { words: &["oz", "ounce", "ounces"], choices: &["oz_av", "oz_troy", "oz_fl_US", "oz_fl_UK"] },
    AmbiguousWord { words: &["fl_oz", "floz", "oz_fl"], choices: &["oz_fl_US", "oz_fl_UK"] },
    AmbiguousWord { words: &["ton", "tons"], choices: &["ton_short", "ton_long", "tonne"] },
    AmbiguousWord { words: &["Btu", "BTU", "btu"], choices: &["Btu_IT", "Btu_th"] },
    AmbiguousWord { words: &["cal", "Cal", "calorie", "calories"], choices: &["cal_IT", "cal_th"] },
    AmbiguousWord { words: &["kcal", "kilocalorie"], choices: &["kcal_IT", "kcal_th"] },
    AmbiguousWord { words: &["pint", "pints", "pt"], choices: &["pint_US", "pint_UK"] },
    AmbiguousWord { words: &["quart", "quarts", "qt"], choices: &["quart_US", "quart_UK"] },
    AmbiguousWord { words: &["degrees", "degree"], choices: &["deg", "degC", "degF"] },
];

#[rustfmt::skip]
static REFUSED: &[RefusedWord] = &[
    RefusedWord { words: &["AWG", "awg", "swg", "SWG"], why: "AWG is a wire size and no unit: use awg_diameter(12) or awg_area(12)" },
    RefusedWord { words: &["month", "months", "mo"], why: "a month has 28 to 31 days: write the days, such as 30 d, or a twelfth of a year" },
    RefusedWord { words: &["ct", "cent", "cents", "c"], why: "write the part of the currency, such as 0.31 EUR/kWh" },
    RefusedWord { words: &["€"], why: "write the code of the currency: EUR" },
    RefusedWord { words: &["$", "£", "¥", "kr"], why: "several countries use this sign: write the code of the currency, such as USD, GBP, JPY or SEK" },
    RefusedWord { words: &["per"], why: "write a stroke: EUR/kWh" },
    RefusedWord { words: &["dB", "pH"], why: "a logarithmic scale is no unit here: write the ratio itself" },
];
