//! A motor on the shelf.

use crate::record::{Bearings, Class, Field, Protection, RatingPoint, ShaftEnds};
use crate::units::{Celsius, Inches, Microfarads, Volts};

/// One row of the stock list. What the list does not say is `None`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct StockMotor {
    /// Line of the list, from 1.
    pub line: u64,
    /// The shop's own number.
    pub sku: String,
    /// Which rule it is sold under; `None` when neither its class nor its enclosure tells.
    pub class: Option<Class>,
    /// Its operating points.
    pub ratings: Vec<RatingPoint>,
    /// Why volts, amps and powers of the row do not pair up, if they do not.
    pub pairing_doubt: Option<String>,
    /// Service factor.
    pub service_factor: Option<f64>,
    /// NEMA or IEC frame.
    pub frame: Option<String>,
    /// Enclosure, in the usual abbreviation.
    pub enclosure: Option<String>,
    /// Insulation class letter.
    pub insulation_class: Option<String>,
    /// Duty, in the usual abbreviation.
    pub duty: Option<String>,
    /// Highest ambient temperature.
    pub ambient: Option<Celsius>,
    /// `cw`, `ccw` or `reversible`, seen from the end opposite the shaft unless the notes say otherwise.
    pub rotation: Option<String>,
    /// Shaft diameter.
    pub shaft_diameter: Option<Inches>,
    /// Length of the shaft from its shoulder.
    pub shaft_length: Option<Inches>,
    /// Number of flats on the shaft.
    pub shaft_flats: Option<u8>,
    /// At how many ends it comes out.
    pub shaft_ends: Option<ShaftEnds>,
    /// How the motor is held, as the list has it, such as `rigid`, `studs`, `B5`.
    pub mounting: Option<String>,
    /// Thermal protection.
    pub protection: Option<Protection>,
    /// Bearings.
    pub bearings: Option<Bearings>,
    /// Where the conduit box sits, such as `F1`.
    pub conduit_box: Option<String>,
    /// Length over all.
    pub length: Option<Inches>,
    /// Run capacitor that it asks for.
    pub capacitor: Option<Microfarads>,
    /// Voltage class of that capacitor.
    pub capacitor_volts: Option<Volts>,
    /// Design letter.
    pub design: Option<String>,
    /// How many lie on the shelf.
    pub quantity: Option<f64>,
    /// Price as the list writes it.
    pub price: Option<String>,
    /// Where it lies.
    pub location: Option<String>,
    /// Remarks.
    pub notes: Option<String>,
    /// The cells of the plate's fields as the list has them.
    pub printed: Vec<(Field, String)>,
    /// Columns that the tool does not know: header and cell, blank cells left out.
    pub extra: Vec<(String, String)>,
}

impl StockMotor {
    /// Whether its ratings differ in power or frequency, not in voltage, current and speed alone.
    pub fn varies(&self) -> bool {
        crate::record::varies(&self.ratings)
    }
}
