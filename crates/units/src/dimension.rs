//! Dimensions: what kind of thing a number measures, and which sums of them make sense.

use std::fmt;

/// Exponents are held in sixtieths, so that halves, thirds, quarters and fifths are exact.
const WHOLE: i16 = 60;

/// How many base dimensions there are.
const BASES: usize = 7;

/// The SI symbol of each base dimension, in the order the exponents are held in.
const BASE_SYMBOLS: [&str; BASES] = ["m", "kg", "s", "A", "K", "rad", "money"];

/// The dimension of a quantity: exponents of length, mass, time, electric current, temperature,
/// plane angle and money, and for temperatures and pressures whether the value counts from the
/// true zero (*absolute*) or is a *difference*.
///
/// Plane angle is a dimension here, so that a speed of rotation (rad/s), a frequency (1/s) and a
/// number of turns cannot pass for one another.
///
/// ```
/// use forebay_units::Dimension;
/// assert_eq!(Dimension::LENGTH.times(Dimension::AREA), Ok(Dimension::VOLUME));
/// assert!(Dimension::LENGTH.plus(Dimension::VOLUME).is_err());
/// ```
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    exponents: [i16; BASES],
    absolute: bool,
}

/// Why two dimensions do not go together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DimensionError {
    /// The two sides measure different things.
    Unlike(Dimension, Dimension),
    /// Two absolute values were added.
    TwoAbsolutes(Dimension),
    /// An absolute value was taken away from a difference.
    AbsoluteFromDifference(Dimension),
    /// An absolute value stands where a difference is wanted, or the other way round.
    AbsoluteAgainstDifference(Dimension, Dimension),
    /// The sign of an absolute value was turned.
    NegatedAbsolute(Dimension),
    /// A temperature reading was multiplied by a plain number.
    ScaledTemperature,
    /// The exponent of a base dimension is no multiple of a sixtieth, or grew beyond all use.
    Exponent,
}

impl Dimension {
    /// A plain number, a ratio, a percentage.
    pub const NONE: Self = Self::of(0, 0, 0, 0, 0, 0, 0);
    /// Length, m.
    pub const LENGTH: Self = Self::of(1, 0, 0, 0, 0, 0, 0);
    /// Mass, kg.
    pub const MASS: Self = Self::of(0, 1, 0, 0, 0, 0, 0);
    /// Time, s.
    pub const TIME: Self = Self::of(0, 0, 1, 0, 0, 0, 0);
    /// Electric current, A.
    pub const CURRENT: Self = Self::of(0, 0, 0, 1, 0, 0, 0);
    /// A temperature difference, K.
    pub const TEMPERATURE_DIFFERENCE: Self = Self::of(0, 0, 0, 0, 1, 0, 0);
    /// An absolute temperature, K from the true zero.
    pub const TEMPERATURE: Self = Self::TEMPERATURE_DIFFERENCE.from_true_zero();
    /// Plane angle, rad.
    pub const ANGLE: Self = Self::of(0, 0, 0, 0, 0, 1, 0);
    /// Money, in the currency of the sheet.
    pub const MONEY: Self = Self::of(0, 0, 0, 0, 0, 0, 1);
    /// Area, m².
    pub const AREA: Self = Self::of(2, 0, 0, 0, 0, 0, 0);
    /// Volume, m³.
    pub const VOLUME: Self = Self::of(3, 0, 0, 0, 0, 0, 0);
    /// Second moment of area, m⁴.
    pub const SECOND_MOMENT_OF_AREA: Self = Self::of(4, 0, 0, 0, 0, 0, 0);
    /// Velocity, m/s.
    pub const VELOCITY: Self = Self::of(1, 0, -1, 0, 0, 0, 0);
    /// Acceleration, m/s².
    pub const ACCELERATION: Self = Self::of(1, 0, -2, 0, 0, 0, 0);
    /// Volume flow, m³/s.
    pub const FLOW: Self = Self::of(3, 0, -1, 0, 0, 0, 0);
    /// Mass flow, kg/s.
    pub const MASS_FLOW: Self = Self::of(0, 1, -1, 0, 0, 0, 0);
    /// Density, kg/m³; also a mass concentration.
    pub const DENSITY: Self = Self::of(-3, 1, 0, 0, 0, 0, 0);
    /// Force, N.
    pub const FORCE: Self = Self::of(1, 1, -2, 0, 0, 0, 0);
    /// A pressure difference, also a gauge reading, Pa.
    pub const PRESSURE_DIFFERENCE: Self = Self::of(-1, 1, -2, 0, 0, 0, 0);
    /// An absolute pressure, Pa from the perfect vacuum.
    pub const PRESSURE: Self = Self::PRESSURE_DIFFERENCE.from_true_zero();
    /// Energy, J; a torque in N·m has the same dimension.
    pub const ENERGY: Self = Self::of(2, 1, -2, 0, 0, 0, 0);
    /// Power, W.
    pub const POWER: Self = Self::of(2, 1, -3, 0, 0, 0, 0);
    /// Dynamic viscosity, Pa·s.
    pub const DYNAMIC_VISCOSITY: Self = Self::of(-1, 1, -1, 0, 0, 0, 0);
    /// Kinematic viscosity, m²/s.
    pub const KINEMATIC_VISCOSITY: Self = Self::of(2, 0, -1, 0, 0, 0, 0);
    /// Frequency, Hz.
    pub const FREQUENCY: Self = Self::of(0, 0, -1, 0, 0, 0, 0);
    /// Speed of rotation, rad/s.
    pub const ROTATION: Self = Self::of(0, 0, -1, 0, 0, 1, 0);
    /// Moment of inertia, kg·m².
    pub const INERTIA: Self = Self::of(2, 1, 0, 0, 0, 0, 0);
    /// Electric charge, C.
    pub const CHARGE: Self = Self::of(0, 0, 1, 1, 0, 0, 0);
    /// Voltage, V.
    pub const VOLTAGE: Self = Self::of(2, 1, -3, -1, 0, 0, 0);
    /// Electric resistance, Ω.
    pub const RESISTANCE: Self = Self::of(2, 1, -3, -2, 0, 0, 0);
    /// Resistance or reactance per length, Ω/m.
    pub const RESISTANCE_PER_LENGTH: Self = Self::of(1, 1, -3, -2, 0, 0, 0);
    /// Resistivity, Ω·m.
    pub const RESISTIVITY: Self = Self::of(3, 1, -3, -2, 0, 0, 0);
    /// Inductance, H.
    pub const INDUCTANCE: Self = Self::of(2, 1, -2, -2, 0, 0, 0);
    /// Capacitance, F.
    pub const CAPACITANCE: Self = Self::of(-2, -1, 4, 2, 0, 0, 0);
    /// Electromotive-force constant, V per rad/s.
    pub const EMF_CONSTANT: Self = Self::of(2, 1, -2, -1, 0, -1, 0);
    /// Price of energy, money per J.
    pub const PRICE_OF_ENERGY: Self = Self::of(-2, -1, 2, 0, 0, 0, 1);

    /// A dimension from whole exponents of length, mass, time, current, temperature, plane angle
    /// and money, as a difference.
    #[must_use]
    pub const fn of(
        length: i16,
        mass: i16,
        time: i16,
        current: i16,
        temperature: i16,
        angle: i16,
        money: i16,
    ) -> Self {
        Self {
            exponents: [
                length * WHOLE,
                mass * WHOLE,
                time * WHOLE,
                current * WHOLE,
                temperature * WHOLE,
                angle * WHOLE,
                money * WHOLE,
            ],
            absolute: false,
        }
    }

    /// The square root of a dimension of whole exponents, such as m^½, in constants.
    #[must_use]
    pub const fn halved(self) -> Self {
        let [length, mass, time, current, temperature, angle, money] = self.exponents;
        Self {
            exponents: [
                length / 2,
                mass / 2,
                time / 2,
                current / 2,
                temperature / 2,
                angle / 2,
                money / 2,
            ],
            absolute: false,
        }
    }

    /// The same dimension, counted from the true zero. Meant for temperature and pressure, the
    /// only two where the distinction exists.
    #[must_use]
    pub const fn from_true_zero(self) -> Self {
        Self { absolute: true, ..self }
    }

    /// The same dimension as a difference.
    #[must_use]
    pub const fn as_difference(self) -> Self {
        Self { absolute: false, ..self }
    }

    /// Whether this is a plain number.
    #[must_use]
    pub fn is_plain(self) -> bool {
        self == Self::NONE
    }

    /// Whether values count from the true zero (absolute temperature, absolute pressure).
    #[must_use]
    pub const fn is_absolute(self) -> bool {
        self.absolute
    }

    /// The exponents of length, mass, time, current, temperature, plane angle and money.
    #[must_use]
    pub fn exponents(self) -> [f64; BASES] {
        self.exponents.map(|e| f64::from(e) / f64::from(WHOLE))
    }

    /// The dimension of a sum.
    ///
    /// # Errors
    /// Unlike dimensions, or two absolute values.
    pub fn plus(self, other: Self) -> Result<Self, DimensionError> {
        self.same_bases(other)?;
        match (self.absolute, other.absolute) {
            (true, true) => Err(DimensionError::TwoAbsolutes(self)),
            (false, false) => Ok(self),
            _ => Ok(self.from_true_zero()),
        }
    }

    /// The dimension of a difference: absolute less absolute is a difference.
    ///
    /// # Errors
    /// Unlike dimensions, or an absolute value taken from a difference.
    pub fn minus(self, other: Self) -> Result<Self, DimensionError> {
        self.same_bases(other)?;
        match (self.absolute, other.absolute) {
            (false, true) => Err(DimensionError::AbsoluteFromDifference(self)),
            (true, true) => Ok(self.as_difference()),
            _ => Ok(self),
        }
    }

    /// The dimension that two values share when they are compared or stand for one another.
    ///
    /// # Errors
    /// Unlike dimensions, or an absolute value against a difference.
    pub fn alike(self, other: Self) -> Result<Self, DimensionError> {
        self.same_bases(other)?;
        if self.absolute == other.absolute {
            Ok(self)
        } else {
            Err(DimensionError::AbsoluteAgainstDifference(self, other))
        }
    }

    /// The dimension of a product. An absolute pressure times a plain number stays absolute; any
    /// other product counts from the true zero and carries no mark.
    ///
    /// # Errors
    /// A temperature reading times a plain number; exponents out of range.
    pub fn times(self, other: Self) -> Result<Self, DimensionError> {
        if other.absolute && !self.absolute {
            return other.times(self);
        }
        if self.absolute && other.is_plain() {
            return self.scaled();
        }
        self.combine(other, 1)
    }

    /// The dimension of a quotient; see [`Dimension::times`].
    ///
    /// # Errors
    /// A temperature reading divided by a plain number; exponents out of range.
    pub fn over(self, other: Self) -> Result<Self, DimensionError> {
        if self.absolute && other.is_plain() {
            return self.scaled();
        }
        self.combine(other, -1)
    }

    /// The dimension of the value with its sign turned.
    ///
    /// # Errors
    /// An absolute value has no negative.
    pub fn negated(self) -> Result<Self, DimensionError> {
        if self.absolute { Err(DimensionError::NegatedAbsolute(self)) } else { Ok(self) }
    }

    /// The dimension of a power. The exponent must give whole sixtieths, which halves, thirds,
    /// quarters, fifths and sixths of whole dimensions do.
    ///
    /// # Errors
    /// An exponent that does not.
    pub fn to_power(self, exponent: f64) -> Result<Self, DimensionError> {
        if self.is_plain() {
            return Ok(self);
        }
        let mut exponents = [0_i16; BASES];
        for (to, from) in exponents.iter_mut().zip(self.exponents) {
            let exact = f64::from(from) * exponent;
            let rounded = exact.round();
            // A third typed as 0.333333333 is not a third: only rounding noise is forgiven.
            let usable = (exact - rounded).abs() <= 1e-9 && rounded.abs() <= f64::from(i16::MAX);
            if !usable {
                return Err(DimensionError::Exponent);
            }
            // In range by the line above.
            #[allow(clippy::cast_possible_truncation)]
            {
                *to = rounded as i16;
            }
        }
        #[allow(clippy::float_cmp)]
        let absolute = self.absolute && exponent == 1.0;
        Ok(Self { exponents, absolute })
    }

    /// Whether the two are the same but for plane angle, as a torque and an energy per angle are.
    #[must_use]
    pub fn differs_only_by_angle(self, other: Self) -> bool {
        let mut bare = self.as_difference();
        bare.exponents[5] = other.exponents[5];
        self.exponents != other.exponents && bare == other.as_difference()
    }

    fn same_bases(self, other: Self) -> Result<(), DimensionError> {
        if self.exponents == other.exponents {
            Ok(())
        } else {
            Err(DimensionError::Unlike(self, other))
        }
    }

    fn scaled(self) -> Result<Self, DimensionError> {
        if self == Self::TEMPERATURE { Err(DimensionError::ScaledTemperature) } else { Ok(self) }
    }

    fn combine(self, other: Self, sign: i16) -> Result<Self, DimensionError> {
        let mut exponents = self.exponents;
        for (to, from) in exponents.iter_mut().zip(other.exponents) {
            *to = from
                .checked_mul(sign)
                .and_then(|from| to.checked_add(from))
                .filter(|sum| *sum != i16::MIN)
                .ok_or(DimensionError::Exponent)?;
        }
        Ok(Self { exponents, absolute: false })
    }

    /// The name that the trade gives this dimension, if it has one.
    #[must_use]
    pub fn name(self) -> Option<&'static str> {
        NAMES.iter().find(|(dimension, _)| *dimension == self).map(|(_, name)| *name)
    }

    /// The dimension in base units, such as `kg·m/s^2`; `1` for a plain number.
    #[must_use]
    pub fn in_base_units(self) -> String {
        let part = |sign: i16| -> Vec<String> {
            self.exponents
                .iter()
                .zip(BASE_SYMBOLS)
                .filter(|(e, _)| **e * sign > 0)
                .map(|(e, symbol)| match e * sign {
                    WHOLE => symbol.to_owned(),
                    e if e % WHOLE == 0 => format!("{symbol}^{}", e / WHOLE),
                    e => {
                        let shared = greatest_common_divisor(e, WHOLE);
                        format!("{symbol}^({}/{})", e / shared, WHOLE / shared)
                    }
                })
                .collect()
        };
        let above = part(1).join("·");
        let below = part(-1).iter().map(|s| format!("/{s}")).collect::<String>();
        if above.is_empty() { format!("1{below}") } else { above + &below }
    }
}

const fn greatest_common_divisor(a: i16, b: i16) -> i16 {
    if b == 0 { a } else { greatest_common_divisor(b, a % b) }
}

/// What messages call each dimension.
const NAMES: &[(Dimension, &str)] = &[
    (Dimension::NONE, "plain number"),
    (Dimension::LENGTH, "length"),
    (Dimension::MASS, "mass"),
    (Dimension::TIME, "time"),
    (Dimension::CURRENT, "current"),
    (Dimension::TEMPERATURE_DIFFERENCE, "temperature difference"),
    (Dimension::TEMPERATURE, "absolute temperature"),
    (Dimension::ANGLE, "angle"),
    (Dimension::MONEY, "money"),
    (Dimension::AREA, "area"),
    (Dimension::VOLUME, "volume"),
    (Dimension::VELOCITY, "velocity"),
    (Dimension::ACCELERATION, "acceleration"),
    (Dimension::FLOW, "volume flow"),
    (Dimension::MASS_FLOW, "mass flow"),
    (Dimension::DENSITY, "density"),
    (Dimension::FORCE, "force"),
    (Dimension::PRESSURE_DIFFERENCE, "pressure difference"),
    (Dimension::PRESSURE, "absolute pressure"),
    (Dimension::ENERGY, "energy or torque"),
    (Dimension::POWER, "power"),
    (Dimension::DYNAMIC_VISCOSITY, "dynamic viscosity"),
    (Dimension::KINEMATIC_VISCOSITY, "kinematic viscosity"),
    (Dimension::FREQUENCY, "frequency"),
    (Dimension::ROTATION, "speed of rotation"),
    (Dimension::INERTIA, "moment of inertia"),
    (Dimension::CHARGE, "charge"),
    (Dimension::VOLTAGE, "voltage"),
    (Dimension::RESISTANCE, "resistance"),
    (Dimension::RESISTANCE_PER_LENGTH, "resistance per length"),
    (Dimension::RESISTIVITY, "resistivity"),
    (Dimension::INDUCTANCE, "inductance"),
    (Dimension::CAPACITANCE, "capacitance"),
    (Dimension::EMF_CONSTANT, "voltage per speed of rotation"),
    (Dimension::PRICE_OF_ENERGY, "price of energy"),
    (Dimension::of(2, 1, -2, 0, 0, -1, 0), "energy per angle"),
];

/// The name where there is one, else the base units.
impl fmt::Display for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.name() {
            Some(name) => f.write_str(name),
            None => f.write_str(&self.in_base_units()),
        }
    }
}

impl fmt::Debug for Dimension {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Dimension({self})")
    }
}

impl fmt::Display for DimensionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Unlike(left, right) => write!(f, "{left} and {right} do not go together"),
            Self::TwoAbsolutes(what) => write!(f, "two values of {what} cannot be added"),
            Self::AbsoluteFromDifference(what) => {
                write!(f, "{} cannot be taken from a {what}", what.from_true_zero())
            }
            Self::AbsoluteAgainstDifference(left, right) => {
                write!(f, "{left} cannot stand against {right}")
            }
            Self::NegatedAbsolute(what) => write!(f, "{what} has no negative"),
            Self::ScaledTemperature => {
                f.write_str("a temperature reading cannot be scaled by a plain number")
            }
            Self::Exponent => f.write_str("this power leaves no usable unit"),
        }
    }
}

impl std::error::Error for DimensionError {}
