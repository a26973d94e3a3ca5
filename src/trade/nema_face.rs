//! NEMA type C faces (NEMA MG 1 4.4.4; sources in `data/nema_c_face.csv`).

use super::table::rows;
use crate::units::Inches;
use serde::Deserialize;
use std::sync::LazyLock;

/// A type C face: tapped holes on a bolt circle around a pilot, inches.
#[derive(Debug, Clone, PartialEq, Deserialize)]
pub struct NemaFace {
    /// Frame designation with its face suffix, such as `145TC`.
    pub frame: String,
    /// Bolt circle diameter.
    #[serde(rename = "AJ")]
    pub aj: Inches,
    /// Rabbet (pilot) diameter.
    #[serde(rename = "AK")]
    pub ak: Inches,
    /// From the face to the first foot hole, on motors that have feet too.
    #[serde(rename = "BA")]
    pub ba: Inches,
    /// Length of the shaft beyond the face.
    #[serde(rename = "AH")]
    pub ah: Inches,
    /// Shaft diameter.
    #[serde(rename = "U")]
    pub u: Inches,
    /// Largest diameter of the motor at the face.
    #[serde(rename = "BD_max")]
    pub bd: Inches,
    /// Number of bolts.
    pub bolts: u8,
    /// Their thread.
    pub tap: String,
}

impl NemaFace {
    /// All faces of the table.
    pub fn all() -> &'static [NemaFace] {
        &FACES
    }
}

static FACES: LazyLock<Vec<NemaFace>> =
    LazyLock::new(|| rows(include_str!("data/nema_c_face.csv")));

/// The face with exactly this designation, such as `56C` or `182TCH`.
pub fn nema_face(designation: &str) -> Option<&'static NemaFace> {
    FACES.iter().find(|f| f.frame == designation)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::nema_frame;

    /// Source: NEMA MG 1 4.4.1 and 4.4.4: a face does not change the shaft of its frame.
    #[test]
    fn faces_have_the_shaft_of_their_frame() {
        assert!(NemaFace::all().len() >= 35);
        let wrong: Vec<String> = NemaFace::all()
            .iter()
            .filter(|f| {
                let base: String = f.frame.replace(['C', 'J'], "").replace("TH", "T");
                nema_frame(&base).map(|b| b.u) != Some(f.u)
            })
            .map(|f| format!("{}: {}", f.frame, f.u))
            .collect();
        assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    }

    #[test]
    fn a_face_is_found_by_its_designation() {
        let face = nema_face("182TC").unwrap();
        assert_eq!(
            (face.aj, face.ak, face.bolts),
            (Inches(7.25), Inches(8.5), 4)
        );
        assert!(nema_face("182T").is_none());
    }
}
