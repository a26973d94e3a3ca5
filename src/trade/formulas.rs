//! The motor equations ("General technical motor information", a motor service page; "Basic Electrical
//! Motors Formula"; "Fan Engineering: Application Guide for Selecting AC Motors", FE-1800).
//!
//! Volts are line to line, power factor and efficiency fractions of one, `phase` is 1 or 3.

use crate::units::{Amps, Horsepower, Kilowatts, Rpm, Volts};

/// √3 for three phases, 1 otherwise.
fn phase_factor(phase: u8) -> f64 {
    if phase == 3 { 3f64.sqrt() } else { 1.0 }
}

/// Apparent power, kVA.
pub fn apparent_power_kva(phase: u8, volts: Volts, amps: Amps) -> f64 {
    phase_factor(phase) * volts.0 * amps.0 / 1000.0
}

/// Electrical input power.
pub fn input_power(phase: u8, volts: Volts, amps: Amps, power_factor: f64) -> Kilowatts {
    Kilowatts(apparent_power_kva(phase, volts, amps) * power_factor)
}

/// Shaft power.
pub fn output_power(
    phase: u8,
    volts: Volts,
    amps: Amps,
    power_factor: f64,
    efficiency: f64,
) -> Horsepower {
    Horsepower::from(Kilowatts(
        input_power(phase, volts, amps, power_factor).0 * efficiency,
    ))
}

/// Full-load current of a shaft power.
pub fn full_load_amps(
    phase: u8,
    volts: Volts,
    hp: Horsepower,
    power_factor: f64,
    efficiency: f64,
) -> Amps {
    Amps(
        Kilowatts::from(hp).0 * 1000.0
            / (phase_factor(phase) * volts.0 * power_factor * efficiency),
    )
}

/// Efficiency times power factor that volts, amps and shaft power imply. For a real motor it lies between
/// about 0.2 and 0.97.
pub fn efficiency_times_power_factor(phase: u8, volts: Volts, amps: Amps, hp: Horsepower) -> f64 {
    Kilowatts::from(hp).0 / apparent_power_kva(phase, volts, amps)
}

/// Locked-rotor kVA per horsepower, which the code letter tells.
pub fn locked_rotor_kva_per_hp(phase: u8, volts: Volts, locked_rotor: Amps, hp: Horsepower) -> f64 {
    apparent_power_kva(phase, volts, locked_rotor) / hp.0
}

/// Full-load torque, pound-feet (5252 hp / rpm).
pub fn torque_lb_ft(hp: Horsepower, rpm: Rpm) -> f64 {
    5252.0 * hp.0 / rpm.0
}

/// Current of the same winding at another voltage of a dual-voltage motor: in inverse proportion.
pub fn amps_at_other_voltage(amps: Amps, from: Volts, to: Volts) -> Amps {
    Amps(amps.0 * from.0 / to.0)
}

/// Power of a fan at another speed, as a fraction: the cube of the speeds' ratio (affinity laws).
pub fn fan_power_ratio(from: Rpm, to: Rpm) -> f64 {
    (to.0 / from.0).powi(3)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(got: f64, expected: f64, tolerance: f64) {
        assert!((got - expected).abs() <= tolerance, "{got}, not {expected}");
    }

    /// Source: comment in the open AMO-Tools-Suite (Oak Ridge National Laboratory), method "EstimateFLA":
    /// 200 hp, 4 poles: 225.8 A at 95.63 %, hence 227.3 A at 95.0 %, 181.8 A at 575 V, power factor 0.867.
    #[test]
    fn full_load_amps_corrected_for_efficiency_and_voltage() {
        let (hp, volts) = (Horsepower(200.0), Volts(460.0));
        let product = efficiency_times_power_factor(3, volts, Amps(225.8), hp);
        close(product / 0.9563, 0.867, 0.001);
        let corrected = full_load_amps(3, volts, hp, product / 0.9563, 0.95);
        close(corrected.0, 227.3, 0.05);
        close(
            amps_at_other_voltage(corrected, volts, Volts(575.0)).0,
            181.8,
            0.05,
        );
    }

    /// Source: "Guide to Sheave Sizes, Motor Frames & Dimensions" (engineering data 16007): torque of one
    /// horsepower, 63025 / rpm in pound-inches, rounded to the unit.
    #[test]
    fn torque_at_one_horsepower() {
        for (rpm, lb_in) in [
            (3500.0, 18.0),
            (3000.0, 21.0),
            (2400.0, 26.0),
            (2000.0, 32.0),
            (580.0, 109.0),
            (500.0, 126.0),
            (400.0, 158.0),
            (300.0, 210.0),
            (90.0, 700.0),
            (80.0, 788.0),
            (70.0, 900.0),
            (60.0, 1050.0),
            (14.0, 4502.0),
            (12.0, 5252.0),
        ] {
            close(torque_lb_ft(Horsepower(1.0), Rpm(rpm)) * 12.0, lb_in, 0.6);
        }
    }

    /// Source: motor training manual: 400 W input at 84 % give 336 W.
    #[test]
    fn input_and_output() {
        let hp = output_power(1, Volts(100.0), Amps(4.0), 1.0, 0.84);
        close(Kilowatts::from(hp).0 * 1000.0, 336.0, 1e-9);
    }

    /// Source: DOE fact sheet "Determining Electric Motor Load and Efficiency" (DOE/GO-10097-517); the
    /// equation as read, the figures from memory: 469.7 V, 37 A, 0.763 give 22.9 to 23.0 kW.
    #[test]
    fn input_power_by_measurement() {
        close(
            input_power(3, Volts(469.7), Amps(37.0), 0.763).0,
            22.95,
            0.06,
        );
    }

    /// Source: "Basic Electrical Motors Formula", rules of thumb for a few horsepower and up, amperes per
    /// hp: 1.25 at 460 V, 2.5 at 230 V three-phase; they imply the same efficiency times power factor.
    #[test]
    fn rules_of_thumb_agree_with_each_other() {
        let at = |volts, per_hp| {
            efficiency_times_power_factor(3, Volts(volts), Amps(per_hp), Horsepower(1.0))
        };
        close(at(460.0, 1.25), at(230.0, 2.5), 1e-9);
        close(at(460.0, 1.25), 0.75, 0.01);
        close(torque_lb_ft(Horsepower(1.0), Rpm(1800.0)), 3.0, 0.1);
    }

    /// Source: affinity laws, as on fan engineering pages: power with the cube of speed.
    #[test]
    fn fan_power_goes_with_the_cube_of_speed() {
        close(fan_power_ratio(Rpm(1000.0), Rpm(1100.0)), 1.331, 1e-9);
        close(
            amps_at_other_voltage(Amps(6.4), Volts(230.0), Volts(460.0)).0,
            3.2,
            1e-12,
        );
    }
}
