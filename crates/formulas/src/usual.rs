//! Parameters that are nearly always left at their usual value: gravity and the density of water.

use forebay_units::Dimension;

use crate::formula::{Parameter, Range};

/// Standard gravity, m/s². A textbook's 9.81 is given as an argument.
pub(crate) const STANDARD_GRAVITY: f64 = 9.80665;

/// The acceleration of free fall; on Earth it stays within 9.78 to 9.84 m/s².
pub(crate) const GRAVITY: Parameter =
    Parameter::new("gravity", Dimension::ACCELERATION, "acceleration of free fall")
        .positive()
        .valid(9.76, 9.84)
        .or(STANDARD_GRAVITY);

/// The density of the water, 1000 kg/m³ unless given.
pub(crate) const DENSITY: Parameter =
    Parameter::new("density", Dimension::DENSITY, "density of the water")
        .positive()
        .valid(950.0, 1050.0)
        .or(1000.0);

/// A share that cannot be nothing, such as an efficiency to divide by.
pub(crate) const SHARE_ABOVE_ZERO: Range = Range { from: 0.0, to: 1.0, above: true };

/// What `hides` says of a formula that is homogeneous but for its angles, which must be radians
/// because they stand in a sine, or because a power is divided by a speed of rotation.
pub(crate) const RADIAN: Option<&str> = Some("the radian");

/// One degree of angle, rad.
pub(crate) const DEGREE: f64 = std::f64::consts::PI / 180.0;

/// Zero of the Celsius scale, K.
pub(crate) const ZERO_CELSIUS: f64 = 273.15;

/// The temperature of the water.
pub(crate) const TEMPERATURE: Parameter =
    Parameter::new("temperature", Dimension::TEMPERATURE, "temperature of the water")
        .within(ZERO_CELSIUS, ZERO_CELSIUS + 100.0)
        .valid(ZERO_CELSIUS + 0.01, ZERO_CELSIUS + 40.0);

/// The temperature of the water where it may be left out.
pub(crate) const TEMPERATURE_OR_15: Parameter = TEMPERATURE.or(ZERO_CELSIUS + 15.0);

/// The height of the site above the sea.
pub(crate) const ALTITUDE: Parameter = Parameter::new(
    "altitude",
    Dimension::LENGTH,
    "height of the site above mean sea level, geopotential (a geometric height gives 0.02 % more \
     pressure at 3 km)",
)
.within(-5000.0, 11_000.0)
.valid(-500.0, 5000.0);

/// The height of the site where it may be left out: at the sea.
pub(crate) const ALTITUDE_OR_SEA: Parameter = ALTITUDE.or(0.0);
