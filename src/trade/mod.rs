//! Trade knowledge: reference tables, compiled in with their source lines, and the formulas on them.
//! Knows only units.

mod capacitor;
mod code_letter;
mod duty;
mod efficiency;
mod enclosure;
mod fan_motor;
pub mod formulas;
mod full_load_current;
mod insulation;
mod service_factor;
mod speed;
mod table;
mod voltage;

pub use capacitor::{
    capacitor_current, run_capacitor_steps, run_capacitor_volts, start_capacitor_ranges,
    start_capacitor_volts,
};
pub use code_letter::{CodeLetter, code_letter, code_letter_of, code_letters};
pub use duty::{Duty, duty};
pub use efficiency::{
    EfficiencyBand, NominalEfficiency, SmallMotorEfficiency, efficiency_band, efficiency_bands,
    nominal_efficiencies, nominal_efficiency_range, small_motor_efficiencies,
};
pub use enclosure::{Enclosure, enclosure};
pub use fan_motor::{FanMotor, fan_motors};
pub use full_load_current::{full_load_current, usual_full_load_current};
pub use insulation::{InsulationClass, insulation_class, insulation_classes};
pub use service_factor::{service_factors_on_plates, standard_service_factor};
pub use speed::{PlateSpeed, plate_speeds, poles, slip, synchronous_speed};
pub use voltage::{SupplySystem, supply_systems, voltage_series};
