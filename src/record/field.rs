//! The fields of a nameplate.

use serde::{Deserialize, Serialize};
use std::fmt;

macro_rules! fields {
    ($($(#[$doc:meta])* $name:ident = $key:literal, $unit:expr, $label:literal;)*) => {
        /// A field of a nameplate. Its key in JSON is the one that the contract lists.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
        pub enum Field {
            $($(#[$doc])* #[serde(rename = $key)] $name,)*
        }

        impl Field {
            /// All fields, in the order in which they are shown.
            pub const ALL: &[Field] = &[$(Field::$name,)*];

            /// The key in JSON and in stock lists.
            pub fn key(self) -> &'static str {
                match self { $(Field::$name => $key,)* }
            }

            /// The unit of its numbers; `None` for pure numbers and text.
            pub fn unit(self) -> Option<&'static str> {
                match self { $(Field::$name => $unit,)* }
            }

            /// What a person calls it.
            pub fn label(self) -> &'static str {
                match self { $(Field::$name => $label,)* }
            }

            /// The field with this key.
            pub fn from_key(key: &str) -> Option<Field> {
                match key { $($key => Some(Field::$name),)* _ => None }
            }
        }
    };
}

fields! {
    /// Rated voltage, or several.
    Volts = "volts", Some("V"), "volts";
    /// Full-load current at each rated voltage.
    Amps = "amps", Some("A"), "full-load amps";
    /// Shaft power in horsepower.
    Hp = "hp", Some("hp"), "horsepower";
    /// Shaft power in kilowatts.
    Kw = "kw", Some("kW"), "kilowatts";
    /// Full-load speed.
    Rpm = "rpm", Some("rpm"), "speed";
    /// Number of phases, 1 or 3.
    Phase = "phase", None, "phases";
    /// Rated frequency.
    Hertz = "hertz", Some("Hz"), "frequency";
    /// Service factor.
    ServiceFactor = "service_factor", None, "service factor";
    /// Current at the service factor load.
    ServiceFactorAmps = "service_factor_amps", Some("A"), "service factor amps";
    /// NEMA or IEC frame.
    Frame = "frame", None, "frame";
    /// Enclosure.
    Enclosure = "enclosure", None, "enclosure";
    /// Insulation class letter.
    InsulationClass = "insulation_class", None, "insulation class";
    /// Duty or time rating.
    Duty = "duty", None, "duty";
    /// Locked-rotor kVA code letter.
    KvaCode = "kva_code", None, "kVA code";
    /// Design letter.
    Design = "design", None, "design letter";
    /// Nominal efficiency.
    NominalEfficiency = "nominal_efficiency", Some("%"), "nominal efficiency";
    /// Power factor, a fraction of one.
    PowerFactor = "power_factor", None, "power factor";
    /// Run capacitor's capacitance.
    CapacitorUf = "capacitor_uf", Some("µF"), "capacitor";
    /// Capacitor's voltage rating.
    CapacitorVolts = "capacitor_volts", Some("V"), "capacitor volts";
    /// Direction of rotation.
    Rotation = "rotation", None, "rotation";
    /// Highest ambient temperature.
    AmbientC = "ambient_c", Some("°C"), "ambient";
    /// Maker's model, type or catalogue number.
    Model = "model", None, "model";
    /// Serial number.
    Serial = "serial", None, "serial number";
}

impl Field {
    /// Whether its value is text rather than a number or a list of numbers.
    pub fn is_text(self) -> bool {
        use Field::*;
        matches!(
            self,
            Frame
                | Enclosure
                | InsulationClass
                | Duty
                | KvaCode
                | Design
                | Rotation
                | Model
                | Serial
        )
    }

    /// Whether its value is a number of the maker's, which no table and no other figure on the plate bears out.
    pub fn is_makers_number(self) -> bool {
        matches!(self, Field::Model | Field::Serial)
    }

    /// The unit to show behind printed characters; `None` where they have one, as `60 HZ` has, or watts among kilowatts.
    pub fn unit_beside(self, printed: &str) -> Option<&'static str> {
        // Watts, metric horsepower, degrees Fahrenheit.
        const OTHERS: [&str; 3] = ["W", "PS", "F"];
        let own = self.unit()?;
        let has_own = printed.to_lowercase().contains(&own.to_lowercase());
        let has_other = OTHERS.iter().any(|unit| printed.trim_end().ends_with(unit));
        (!has_own && !has_other).then_some(own)
    }

    /// Printed characters with their unit.
    pub fn with_unit(self, printed: &str) -> String {
        match self.unit_beside(printed) {
            Some(unit) => format!("{printed} {unit}"),
            None => printed.to_owned(),
        }
    }

    /// A value as a plate prints it.
    pub fn example(self) -> &'static str {
        match self {
            Field::Volts => "208-230/460",
            Field::Amps | Field::ServiceFactorAmps => "13.6-12.8/6.4",
            Field::Hp => "1-1/2",
            Field::Kw => "0.75",
            Field::Rpm => "1725",
            Field::Phase => "3",
            Field::Hertz => "60",
            Field::Rotation => "CCWLE",
            Field::InsulationClass => "F",
            Field::AmbientC => "40",
            Field::KvaCode | Field::Design => "B",
            Field::Frame => "184T",
            Field::Enclosure => "TEFC",
            Field::Duty => "CONT",
            Field::CapacitorUf => "7.5",
            Field::CapacitorVolts => "370",
            Field::NominalEfficiency => "89.5",
            Field::PowerFactor => "0.82",
            Field::ServiceFactor => "1.15",
            Field::Model | Field::Serial => "AB-1234",
        }
    }
}

impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.label())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_is_shown_once() {
        for (field, printed, shown) in [
            (Field::Volts, "230 Δ 400 Y", "230 Δ 400 Y V"),
            (Field::Hertz, "60 HZ", "60 HZ"),
            (Field::Kw, "9 W", "9 W"),
            (Field::Hp, "2.0 PS", "2.0 PS"),
            (Field::AmbientC, "104 F", "104 F"),
            (Field::Frame, "48Y", "48Y"),
        ] {
            assert_eq!(field.with_unit(printed), shown);
        }
    }
}
