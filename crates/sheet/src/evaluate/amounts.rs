//! Exact money: sums, multiples and rounding on decimals.

use forebay_units::{Decimal, Rounding, money};

use super::Machine;
use crate::diagnostic::Code;
use crate::term::{Id, Term};
use crate::value::Value;

impl Machine<'_> {
    pub(super) fn amount(&mut self, id: Id) -> Option<Decimal> {
        match self.value(id) {
            Value::Money(amount) => Some(amount),
            _ => None,
        }
    }

    pub(super) fn money(&mut self, id: Id) -> Value {
        let result = match *self.terms.get(id) {
            Term::MoneyAdd(a, b) => match (self.amount(a), self.amount(b)) {
                (Some(a), Some(b)) => a.checked_add(b),
                _ => None,
            },
            Term::MoneySubtract(a, b) => match (self.amount(a), self.amount(b)) {
                (Some(a), Some(b)) => a.checked_sub(b),
                _ => None,
            },
            Term::MoneyNegate(a) => self.amount(a).map(|a| -a),
            Term::MoneyTimes(a, b) => {
                let (amount, by) = (self.amount(a), money::from_number(self.number(b)));
                amount.zip(by).and_then(|(amount, by)| amount.checked_mul(by))
            }
            Term::MoneyOver(a, b) => {
                let (amount, by) = (self.amount(a), self.number(b));
                if by == 0.0 {
                    self.fail(b, Code::NO_VALUE, "this is zero, and is divided by");
                }
                amount.zip(money::from_number(by)).and_then(|(amount, by)| amount.checked_div(by))
            }
            Term::MoneyRounded(a, half_up) => {
                let rule = if half_up { Rounding::HalfUp } else { Rounding::HalfEven };
                match (self.amount(a), self.style.currency) {
                    (Some(amount), Some(currency)) => {
                        Some(money::round_to_minor(amount, currency, rule))
                    }
                    (amount, _) => amount,
                }
            }
            Term::ToMoney(a) => money::from_number(self.number(a)),
            _ => None,
        };
        match result {
            Some(amount) => Value::Money(amount),
            None => {
                self.fail(id, Code::NO_VALUE, "this amount of money is too large or has no value");
                Value::Number(f64::NAN)
            }
        }
    }
}
