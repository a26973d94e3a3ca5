//! Trade knowledge: reference tables, compiled in with their source lines, and the formulas on them.
//! Knows only units.

mod capacitor;
mod code_letter;
mod duty;
mod efficiency;
mod enclosure;
mod fan_motor;
pub mod formulas;
mod frame_assignment;
mod full_load_current;
mod iec_frame;
mod insulation;
mod locked_rotor;
mod motor_circuit;
mod mounting;
mod nema_face;
mod nema_frame;
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
pub use frame_assignment::{FrameAssignment, frame_assignments};
pub use full_load_current::{full_load_current, usual_full_load_current};
pub use iec_frame::{IecFrame, iec_frame, iec_heights, iec_key};
pub use insulation::{InsulationClass, insulation_class, insulation_classes};
pub use locked_rotor::{LockedRotor, locked_rotor};
pub use motor_circuit::{
    CircuitRule, Device, conductor_ampacity, overload_setting, short_circuit_device,
};
pub use mounting::{Mounting, mounting};
pub use nema_face::{NemaFace, nema_face};
pub use nema_frame::{NemaFrame, is_nema_number, nema_frame, shaft_height};
pub use service_factor::{service_factors_on_plates, standard_service_factor};
pub use speed::{PlateSpeed, plate_speeds, poles, slip, synchronous_speed};
pub use voltage::{SupplySystem, supply_systems, voltage_series};
