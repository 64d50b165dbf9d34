//! Money: currencies with their smallest coins, and exact decimal amounts.

use std::fmt;
use std::str::FromStr;

use rust_decimal::{Decimal, RoundingStrategy};

/// Digits that survive when a computed number becomes an amount: as many as every `f64` can hold.
const EXACT_DIGITS: usize = 15;

/// Decimal places that an amount can hold.
const MOST_PLACES: i32 = 28;

/// A currency of ISO 4217.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct Currency {
    code: &'static str,
    name: &'static str,
    minor_units: u8,
}

impl Currency {
    /// The currency of this three-letter code, in capitals.
    ///
    /// ```
    /// use forebay_units::Currency;
    /// assert_eq!(Currency::by_code("JPY").map(Currency::minor_units), Some(0));
    /// assert_eq!(Currency::by_code("jpy"), None);
    /// ```
    #[must_use]
    pub fn by_code(code: &str) -> Option<Self> {
        CURRENCIES.iter().copied().find(|currency| currency.code == code)
    }

    /// Every currency that can be named, in the order of their codes.
    pub fn all() -> impl Iterator<Item = Self> {
        CURRENCIES.iter().copied()
    }

    /// The three-letter code, `EUR`.
    #[must_use]
    pub const fn code(self) -> &'static str {
        self.code
    }

    /// The English name, `euro`.
    #[must_use]
    pub const fn name(self) -> &'static str {
        self.name
    }

    /// Decimal places of the smallest unit: 2 for the euro, 0 for the yen, 3 for the dinar.
    #[must_use]
    pub const fn minor_units(self) -> u8 {
        self.minor_units
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.code)
    }
}

impl fmt::Debug for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Currency({})", self.code)
    }
}

/// What becomes of an amount that lies exactly between two of the smallest units.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rounding {
    /// To the even neighbour, so that many roundings do not drift.
    HalfEven,
    /// Away from zero, as most invoices are rounded.
    HalfUp,
}

/// Why a text is no amount.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum AmountError {
    /// The text is no plain decimal number.
    Malformed(String),
    /// The number has more digits than can be held exactly (28).
    TooLong(String),
}

impl AmountError {
    /// The way out.
    #[must_use]
    pub const fn help(&self) -> &'static str {
        match self {
            Self::Malformed(_) => "write digits with at most one point, such as -1234.50",
            Self::TooLong(_) => "write at most 28 digits",
        }
    }
}

impl fmt::Display for AmountError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Malformed(text) => write!(f, "`{text}` is no amount"),
            Self::TooLong(text) => write!(f, "`{text}` has more digits than can be kept exactly"),
        }
    }
}

impl std::error::Error for AmountError {}

/// A computed number as an amount, taken to 15 significant digits, so that the noise of binary
/// arithmetic ends here: 0.31 EUR/kWh times 9000 kWh is 2790 exactly.
///
/// `None` for NaN, infinities and numbers of 10²⁸ and more. Places beyond the 28th are rounded.
#[must_use]
pub fn from_number(number: f64) -> Option<Decimal> {
    if !number.is_finite() {
        return None;
    }
    let text = format!("{number:.*e}", EXACT_DIGITS - 1);
    let (mantissa, exponent) = text.split_once('e')?;
    let exponent: i32 = exponent.parse().ok()?;
    let last_place = 14 - exponent;
    let plain = if last_place < 0 {
        let zeros = usize::try_from(-last_place).ok()?;
        if exponent >= MOST_PLACES {
            return None;
        }
        mantissa.replace('.', "") + &"0".repeat(zeros)
    } else {
        let places = usize::try_from(last_place.min(MOST_PLACES)).ok()?;
        format!("{number:.places$}")
    };
    Decimal::from_str(&plain).ok().map(|amount| amount.normalize())
}

/// The number nearest to an amount.
#[must_use]
pub fn to_number(amount: Decimal) -> f64 {
    // Through the decimal text, which Rust reads to the nearest number.
    amount.to_string().parse().expect("a decimal prints as digits with a point, which is a number")
}

/// An amount from its text, exact to the last digit: `0.10`, `-1234.5`.
///
/// # Errors
/// Anything but digits with an optional sign and point; more than 28 digits.
pub fn parse_amount(text: &str) -> Result<Decimal, AmountError> {
    let text = text.trim();
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    let plain = digits.chars().all(|c| c.is_ascii_digit() || c == '.')
        && digits.chars().filter(|c| *c == '.').count() <= 1
        && digits.chars().any(|c| c.is_ascii_digit());
    if !plain {
        return Err(AmountError::Malformed(text.to_owned()));
    }
    Decimal::from_str_exact(text).map_err(|_| AmountError::TooLong(text.to_owned()))
}

/// An amount rounded to the smallest unit of its currency by the named rule.
#[must_use]
pub fn round_to_minor(amount: Decimal, currency: Currency, rounding: Rounding) -> Decimal {
    let strategy = match rounding {
        Rounding::HalfEven => RoundingStrategy::MidpointNearestEven,
        Rounding::HalfUp => RoundingStrategy::MidpointAwayFromZero,
    };
    amount.round_dp_with_strategy(u32::from(currency.minor_units), strategy)
}

/// An amount as it is shown, rounded half to even to the smallest unit: `2790.00 EUR`.
#[must_use]
pub fn format_amount(amount: Decimal, currency: Currency) -> String {
    let mut rounded = round_to_minor(amount, currency, Rounding::HalfEven);
    if rounded.is_zero() {
        rounded = Decimal::ZERO;
    }
    format!("{rounded:.*} {}", usize::from(currency.minor_units), currency.code)
}

const fn of(code: &'static str, name: &'static str, minor_units: u8) -> Currency {
    Currency { code, name, minor_units }
}

/// Active codes of ISO 4217 (list one) with their minor units; from memory, without funds codes,
/// precious metals and the two currencies whose minor unit is no decimal fraction.
#[rustfmt::skip]
static CURRENCIES: &[Currency] = &[
    of("AED", "UAE dirham", 2),
    of("ALL", "lek", 2),
    of("AMD", "dram", 2),
    of("ARS", "Argentine peso", 2),
    of("AUD", "Australian dollar", 2),
    of("AZN", "Azerbaijan manat", 2),
    of("BAM", "convertible mark", 2),
    of("BDT", "taka", 2),
    of("BGN", "lev", 2),
    of("BHD", "Bahraini dinar", 3),
    of("BIF", "Burundi franc", 0),
    of("BOB", "boliviano", 2),
    of("BRL", "real", 2),
    of("BTN", "ngultrum", 2),
    of("BWP", "pula", 2),
    of("CAD", "Canadian dollar", 2),
    of("CDF", "Congolese franc", 2),
    of("CHF", "Swiss franc", 2),
    of("CLP", "Chilean peso", 0),
    of("CNY", "yuan renminbi", 2),
    of("COP", "Colombian peso", 2),
    of("CRC", "Costa Rican colón", 2),
    of("CZK", "Czech koruna", 2),
    of("DKK", "Danish krone", 2),
    of("DOP", "Dominican peso", 2),
    of("EGP", "Egyptian pound", 2),
    of("ETB", "birr", 2),
    of("EUR", "euro", 2),
    of("FJD", "Fiji dollar", 2),
    of("GBP", "pound sterling", 2),
    of("GEL", "lari", 2),
    of("GHS", "cedi", 2),
    of("GNF", "Guinean franc", 0),
    of("GTQ", "quetzal", 2),
    of("HKD", "Hong Kong dollar", 2),
    of("HNL", "lempira", 2),
    of("HUF", "forint", 2),
    of("IDR", "rupiah", 2),
    of("ILS", "new shekel", 2),
    of("INR", "Indian rupee", 2),
    of("IQD", "Iraqi dinar", 3),
    of("ISK", "Iceland króna", 0),
    of("JOD", "Jordanian dinar", 3),
    of("JPY", "yen", 0),
    of("KES", "Kenyan shilling", 2),
    of("KGS", "Kyrgyz som", 2),
    of("KHR", "riel", 2),
    of("KRW", "won", 0),
    of("KWD", "Kuwaiti dinar", 3),
    of("KZT", "tenge", 2),
    of("LAK", "Lao kip", 2),
    of("LKR", "Sri Lanka rupee", 2),
    of("LYD", "Libyan dinar", 3),
    of("MAD", "Moroccan dirham", 2),
    of("MDL", "Moldovan leu", 2),
    of("MKD", "denar", 2),
    of("MMK", "kyat", 2),
    of("MNT", "tugrik", 2),
    of("MWK", "Malawi kwacha", 2),
    of("MXN", "Mexican peso", 2),
    of("MYR", "ringgit", 2),
    of("MZN", "metical", 2),
    of("NAD", "Namibia dollar", 2),
    of("NGN", "naira", 2),
    of("NIO", "córdoba", 2),
    of("NOK", "Norwegian krone", 2),
    of("NPR", "Nepalese rupee", 2),
    of("NZD", "New Zealand dollar", 2),
    of("OMR", "rial Omani", 3),
    of("PAB", "balboa", 2),
    of("PEN", "sol", 2),
    of("PGK", "kina", 2),
    of("PHP", "Philippine peso", 2),
    of("PKR", "Pakistan rupee", 2),
    of("PLN", "złoty", 2),
    of("PYG", "guaraní", 0),
    of("RON", "Romanian leu", 2),
    of("RSD", "Serbian dinar", 2),
    of("RWF", "Rwanda franc", 0),
    of("SAR", "Saudi riyal", 2),
    of("SEK", "Swedish krona", 2),
    of("SGD", "Singapore dollar", 2),
    of("THB", "baht", 2),
    of("TJS", "somoni", 2),
    of("TND", "Tunisian dinar", 3),
    of("TRY", "Turkish lira", 2),
    of("TWD", "New Taiwan dollar", 2),
    of("TZS", "Tanzanian shilling", 2),
    of("UAH", "hryvnia", 2),
    of("UGX", "Uganda shilling", 0),
    of("USD", "US dollar", 2),
    of("UYU", "Uruguayan peso", 2),
    of("UZS", "Uzbekistan sum", 2),
    of("VND", "đồng", 0),
    of("XAF", "CFA franc BEAC", 0),
    of("XOF", "CFA franc BCEAO", 0),
    of("XPF", "CFP franc", 0),
    of("ZAR", "rand", 2),
    of("ZMW", "Zambian kwacha", 2),
];
