//! Quantities with their units. The ground floor of the house: knows nothing, known by all.
//!
//! A number that has been given a unit cannot be taken for another: amperes never become horsepower.

use serde::{Deserialize, Serialize};
use std::fmt;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $symbol:literal) => {
        quantity!($(#[$doc])* $name, $symbol, plain);
    };
    ($(#[$doc:meta])* $name:ident, $symbol:literal, $written:path) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(pub f64);

        impl $name {
            /// The unit's symbol as it is printed beside the number.
            pub const SYMBOL: &str = $symbol;
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, "{} {}", $written(self.0), Self::SYMBOL)
            }
        }
    };
}

quantity!(
    /// Electric potential, volts, line to line on three-phase motors.
    Volts, "V"
);
quantity!(
    /// Electric current, amperes.
    Amps, "A"
);
quantity!(
    /// Shaft power, mechanical horsepower (745.7 W).
    Horsepower, "hp", fraction
);
quantity!(
    /// Shaft power, kilowatts.
    Kilowatts, "kW"
);
quantity!(
    /// Speed, revolutions per minute.
    Rpm, "rpm"
);
quantity!(
    /// Frequency, hertz.
    Hertz, "Hz"
);
quantity!(
    /// Length, inches.
    Inches, "in"
);
quantity!(
    /// Temperature, degrees Celsius.
    Celsius, "°C"
);
quantity!(
    /// Capacitance, microfarads.
    Microfarads, "µF"
);

impl Horsepower {
    /// Watts in one mechanical horsepower (550 ft·lbf/s).
    pub const WATTS: f64 = 745.7;
}

impl From<Kilowatts> for Horsepower {
    fn from(kw: Kilowatts) -> Self {
        Horsepower(kw.0 * 1000.0 / Self::WATTS)
    }
}

impl From<Horsepower> for Kilowatts {
    fn from(hp: Horsepower) -> Self {
        Kilowatts(hp.0 * Horsepower::WATTS / 1000.0)
    }
}

/// A number as a person writes it: at most four decimals, none that say nothing.
pub fn plain(value: f64) -> String {
    let text = format!("{value:.4}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Horsepower as the trade writes it: `1/3`, `3/4`, and decimals from 1 on.
fn fraction(value: f64) -> String {
    let parts = [2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50].map(|bottom| (1, bottom));
    let usual = parts.into_iter().chain([(3, 4), (2, 3)]);
    let found = usual
        .into_iter()
        .find(|(top, bottom)| (value - f64::from(*top) / f64::from(*bottom)).abs() < 0.0005);
    match found {
        Some((top, bottom)) => format!("{top}/{bottom}"),
        None => plain(value),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_written_plainly() {
        assert_eq!(Amps(2.0).to_string(), "2 A");
        assert_eq!(Horsepower(0.25).to_string(), "1/4 hp");
        assert_eq!(Horsepower(0.333).to_string(), "1/3 hp");
        assert_eq!(Horsepower(7.5).to_string(), "7.5 hp");
        assert_eq!(Horsepower(0.9).to_string(), "0.9 hp");
        assert_eq!(plain(13.6), "13.6");
        assert_eq!(plain(1.0 / 3.0), "0.3333");
    }

    /// Source: "Metric Motors" (engineering note): 2 kW x 1.34 = about 2.7 hp.
    #[test]
    fn kilowatts_to_horsepower() {
        assert!((Horsepower::from(Kilowatts(2.0)).0 - 2.68).abs() < 0.01);
    }
}
