//! What a variable of a running function holds, in Rhai's clothes and ours.

use std::sync::Arc;

use forebay_units::{Decimal, Dimension};
use jiff::civil::Date;
use rhai::{Dynamic, FnPtr};

use crate::value::{Items, Scalar, Series, Type, Value};

/// A value that carries its type; plain numbers and truths go bare.
#[derive(Clone, Debug)]
pub(super) struct Held {
    pub(super) ty: Type,
    pub(super) value: Value,
}

/// A list before its first value, whose unit nobody knows.
#[derive(Clone, Debug)]
pub(super) struct EmptyList;

/// A function `|x| …` in a variable, with how many functions it holds inside one another.
#[derive(Clone, Debug)]
pub(super) struct Callable {
    pub(super) pointer: FnPtr,
    pub(super) depth: u8,
}

/// What a Rhai value is to us.
#[derive(Clone, Debug)]
pub(super) enum Thing {
    Value(Type, Value),
    EmptyList,
    Function(Callable),
    /// What a statement gives.
    Nothing,
}

impl Thing {
    /// Takes a value out of Rhai's hands.
    pub(super) fn of(dynamic: Dynamic) -> Self {
        let dynamic = dynamic.flatten();
        if let Ok(number) = dynamic.as_float() {
            return Self::Value(Type::PLAIN, Value::Number(number));
        }
        if let Ok(truth) = dynamic.as_bool() {
            return Self::Value(Type::TRUTH, Value::Truth(truth));
        }
        if dynamic.is::<EmptyList>() {
            return Self::EmptyList;
        }
        match dynamic.try_cast_result::<Held>() {
            Ok(held) => Self::Value(held.ty, held.value),
            Err(other) => other.try_cast::<Callable>().map_or(Self::Nothing, Self::Function),
        }
    }

    /// Whether a variable that holds this may come to hold the other.
    pub(super) fn may_become(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Value(a, _), Self::Value(b, _)) => a == b,
            (Self::EmptyList, Self::Value(Type::Series(_), _) | Self::EmptyList)
            | (Self::Value(Type::Series(_), _), Self::EmptyList) => true,
            _ => false,
        }
    }

    /// What it is called in "expected …, found …".
    pub(super) fn described(&self) -> String {
        match self {
            Self::Value(ty, _) => crate::compile::lower::described(*ty),
            Self::EmptyList => "an empty list".to_owned(),
            Self::Function(_) => "a function".to_owned(),
            Self::Nothing => "nothing".to_owned(),
        }
    }
}

/// A value as Rhai carries it.
pub(super) fn dynamic(ty: Type, value: Value) -> Dynamic {
    match value {
        Value::Number(number) if ty == Type::PLAIN => Dynamic::from_float(number),
        Value::Truth(truth) if ty == Type::TRUTH => Dynamic::from_bool(truth),
        value => Dynamic::from(Held { ty, value }),
    }
}

/// A value to try a function out on: one of the unit, in SI. An absolute temperature or pressure
/// of one lies outside every formula, so these two are 10 °C and the standard atmosphere.
pub(super) fn sample(ty: Type) -> Value {
    let one = match ty.scalar() {
        Scalar::Number(Dimension::MONEY) => Value::Money(Decimal::ONE),
        Scalar::Number(Dimension::TEMPERATURE) => Value::Number(283.15),
        Scalar::Number(Dimension::PRESSURE) => Value::Number(101_325.0),
        Scalar::Number(_) => Value::Number(1.0),
        Scalar::Truth => Value::Truth(true),
        Scalar::Text => Value::Text("".into()),
        Scalar::Date => Value::Date(Date::constant(2000, 1, 1)),
    };
    match ty {
        Type::One(_) => one,
        Type::Series(scalar) => series(scalar, vec![Some(one); 3], None),
    }
}

/// A series from its values, gaps among them.
pub(super) fn series(
    scalar: Scalar,
    values: Vec<Option<Value>>,
    dates: Option<Arc<[Date]>>,
) -> Value {
    let items = if scalar.is_bare() {
        let number = |value: Option<Value>| value.and_then(|v| v.as_number()).unwrap_or(f64::NAN);
        Items::Numbers(values.into_iter().map(number).collect())
    } else {
        Items::Values(values)
    };
    Value::Series(Arc::new(Series { items, dates }))
}
