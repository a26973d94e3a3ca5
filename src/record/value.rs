//! What printed characters mean.

use crate::units::plain;
use serde::{Deserialize, Serialize};
use std::fmt;

/// The meaning of a printed value, in the unit of its field.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Value {
    /// One number.
    Number(f64),
    /// Several numbers, in the order of the plate.
    Numbers(Vec<f64>),
    /// A code or a name.
    Text(String),
}

impl Value {
    /// The numbers, one or several; empty for text.
    pub fn numbers(&self) -> &[f64] {
        match self {
            Value::Number(n) => std::slice::from_ref(n),
            Value::Numbers(list) => list,
            Value::Text(_) => &[],
        }
    }

    /// The text; `None` for numbers.
    pub fn text(&self) -> Option<&str> {
        match self {
            Value::Text(text) => Some(text),
            _ => None,
        }
    }

    /// One number or a list, as the contract wants it; `None` for no number.
    pub fn from_numbers(numbers: Vec<f64>) -> Option<Value> {
        match numbers.as_slice() {
            [] => None,
            [one] => Some(Value::Number(*one)),
            _ => Some(Value::Numbers(numbers)),
        }
    }
}

impl fmt::Display for Value {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Text(text) => f.write_str(text),
            numbers => {
                let list: Vec<String> = numbers.numbers().iter().map(|n| plain(*n)).collect();
                f.write_str(&list.join(", "))
            }
        }
    }
}
