//! What stands under every list of candidates.

/// The usual cautions, two lines. They do not replace local code or a licensed person.
pub const CAUTIONS: &[&str] = &[
    "Disconnect, lock out and prove dead before touching anything; discharge the capacitors, also the dead motor's. \
     Guards on, and rotation checked, before the load is coupled.",
    "Licensed work under the local code: overload setting, conductors and protection are for a licensed person to check. \
     Fit the new motor's own capacitor, run air-over motors only in their air, and measure the amps under load.",
];
