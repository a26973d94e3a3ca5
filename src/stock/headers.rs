//! Which column of a list is which: the contract's headers and their common spellings.

use std::collections::BTreeMap;

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(super) enum Column {
    Sku,
    Class,
    Hp,
    Kw,
    Volts,
    Amps,
    Phase,
    Hertz,
    Rpm,
    ServiceFactor,
    Frame,
    Enclosure,
    InsulationClass,
    Duty,
    AmbientC,
    Rotation,
    ShaftDiameter,
    ShaftLength,
    ShaftFlats,
    ShaftEnds,
    Mounting,
    ThermalProtection,
    Bearings,
    ConduitBox,
    Length,
    CapacitorUf,
    CapacitorVolts,
    Design,
    KvaCode,
    Quantity,
    Price,
    Location,
    Notes,
}

/// The contract's header of each column.
const NAMES: &[(Column, &str)] = {
    use Column::*;
    &[
        (Sku, "sku"),
        (Class, "class"),
        (Hp, "hp"),
        (Kw, "kw"),
        (Volts, "volts"),
        (Amps, "amps"),
        (Phase, "phase"),
        (Hertz, "hertz"),
        (Rpm, "rpm"),
        (ServiceFactor, "service_factor"),
        (Frame, "frame"),
        (Enclosure, "enclosure"),
        (InsulationClass, "insulation_class"),
        (Duty, "duty"),
        (AmbientC, "ambient_c"),
        (Rotation, "rotation"),
        (ShaftDiameter, "shaft_diameter_in"),
        (ConduitBox, "conduit_box"),
        (Length, "length_in"),
        (CapacitorUf, "capacitor_uf"),
        (CapacitorVolts, "capacitor_volts"),
        (Design, "design"),
        (Quantity, "quantity"),
        (Price, "price"),
        (Location, "location"),
        (Notes, "notes"),
    ]
};

impl Column {
    /// The contract's header.
    pub(super) fn name(self) -> &'static str {
        NAMES.iter().find(|n| n.0 == self).map_or("", |n| n.1)
    }
}

/// The contract's headers: what a column may be taken for.
pub fn column_names() -> impl Iterator<Item = &'static str> {
    NAMES.iter().map(|n| n.1)
}

/// What somebody said of the columns of a list: for a header the column that it stands for, or none. Headers of
/// which nothing was said are taken as they are spelt.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Mapping(BTreeMap<String, Option<Column>>);

impl Mapping {
    /// Reads `{"Our code": "sku", "Colour": ""}`; `None` when it is not that, or names a column that there is not.
    pub fn from_json(text: &str) -> Option<Mapping> {
        let said: BTreeMap<String, String> = serde_json::from_str(text).ok()?;
        Mapping::new(said)
    }

    /// From headers and the contract's headers, empty for none.
    pub fn new(said: impl IntoIterator<Item = (String, String)>) -> Option<Mapping> {
        let each = said.into_iter().map(|(header, name)| {
            let column = match name.as_str() {
                "" => None,
                name => Some(NAMES.iter().find(|n| n.1 == name)?.0),
            };
            Some((header, column))
        });
        each.collect::<Option<_>>().map(Mapping)
    }

    /// As JSON, to be kept beside the list.
    pub fn to_json(&self) -> String {
        let said = self
            .0
            .iter()
            .map(|(h, c)| (h.clone(), c.map_or("", Column::name).into()));
        serde_json::Value::Object(said.collect()).to_string()
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The columns of a header line.
    pub(super) fn columns<'a>(
        &self,
        headers: impl IntoIterator<Item = &'a str>,
    ) -> Vec<Option<Column>> {
        let mut found: Vec<Option<Column>> = Vec::new();
        for header in headers {
            let this = match self.0.get(header.trim()) {
                Some(said) => *said,
                None => column(header),
            };
            found.push(this.filter(|c| !found.contains(&Some(*c))));
        }
        found
    }
}

/// The contract's header first, then spellings met in shops, all reduced to letters and digits.
const SPELLINGS: &[(Column, &[&str])] = {
    use Column::*;
    &[
        (
            Sku,
            &[
                "artikelnr",
                "artikelnummer",
                "artikel",
                "bestellnr",
                "sku",
                "item",
                "itemno",
                "itemnumber",
                "itemnum",
                "itemid",
                "itemcode",
                "part",
                "partno",
                "partnumber",
                "partnum",
                "pn",
                "stockno",
                "stocknumber",
                "stockcode",
                "stockid",
                "catalog",
                "catalogno",
                "catalognumber",
                "catno",
                "cat",
                "catalogue",
                "article",
                "articleno",
                "code",
                "productcode",
                "product",
                "id",
                "motorno",
            ],
        ),
        (
            Class,
            &[
                "class",
                "motorclass",
                "motortype",
                "kind",
                "application",
                "cooling",
            ],
        ),
        (
            Hp,
            &[
                "hp",
                "horsepower",
                "horses",
                "ratedhp",
                "hprating",
                "outputhp",
                "powerhp",
                "hps",
            ],
        ),
        (
            Kw,
            &[
                "leistungkw",
                "leistung",
                "nennleistung",
                "kw",
                "kilowatt",
                "kilowatts",
                "outputkw",
                "powerkw",
                "ratedkw",
                "kwrating",
            ],
        ),
        (
            Volts,
            &[
                "spannung",
                "spannungv",
                "nennspannung",
                "volts",
                "volt",
                "voltage",
                "v",
                "vac",
                "vac60hz",
                "ratedvolts",
                "ratedvoltage",
                "voltagev",
                "voltsac",
            ],
        ),
        (
            Amps,
            &[
                "strom",
                "stroma",
                "nennstrom",
                "amps",
                "amp",
                "ampere",
                "amperes",
                "a",
                "fla",
                "flamps",
                "fullloadamps",
                "fullloadcurrent",
                "flc",
                "current",
                "currenta",
                "ratedamps",
                "ratedcurrent",
                "rla",
                "ampsfl",
                "ampsfla",
            ],
        ),
        (
            Phase,
            &["phasen", "phase", "phases", "ph", "phs", "nophases"],
        ),
        (
            Hertz,
            &[
                "frequenz",
                "hertz",
                "hz",
                "freq",
                "frequency",
                "cycle",
                "cycles",
                "cy",
                "cps",
                "frequencyhz",
            ],
        ),
        (
            Rpm,
            &[
                "drehzahl",
                "nenndrehzahl",
                "umin",
                "rpm",
                "speed",
                "speedrpm",
                "fullloadrpm",
                "flrpm",
                "ratedspeed",
                "ratedrpm",
                "rpmfl",
                "revs",
            ],
        ),
        (
            ServiceFactor,
            &[
                "servicefactor",
                "sf",
                "servfactor",
                "serfact",
                "svcfactor",
                "servicefact",
                "servfac",
            ],
        ),
        (
            Frame,
            &[
                "baugröße",
                "baugrösse",
                "baugroesse",
                "frame",
                "fr",
                "framesize",
                "nemaframe",
                "frm",
                "iecframe",
                "fram",
                "framenema",
            ],
        ),
        (
            Enclosure,
            &[
                "schutzart",
                "enclosure",
                "encl",
                "enc",
                "enclosuretype",
                "housing",
                "encltype",
            ],
        ),
        (
            InsulationClass,
            &[
                "isolationsklasse",
                "isolierstoffklasse",
                "wärmeklasse",
                "insulationclass",
                "insulation",
                "ins",
                "insul",
                "insclass",
                "inscl",
                "insulclass",
                "thermalclass",
            ],
        ),
        (
            Duty,
            &["duty", "timerating", "rating", "dutycycle", "dutytype"],
        ),
        (
            AmbientC,
            &[
                "ambientc",
                "ambient",
                "amb",
                "ambienttemp",
                "maxambient",
                "maxamb",
                "tamb",
                "ambientdegc",
                "ambc",
            ],
        ),
        (
            Rotation,
            &[
                "rotation",
                "rot",
                "direction",
                "rotate",
                "dirofrotation",
                "directionofrotation",
                "rotationle",
            ],
        ),
        (
            ShaftDiameter,
            &[
                "shaftdiameterin",
                "shaftdiameter",
                "shaftdia",
                "shaft",
                "shaftdiain",
                "shaftin",
                "shaftsize",
                "dia",
                "shaftu",
            ],
        ),
        (
            ConduitBox,
            &[
                "conduitbox",
                "box",
                "jbox",
                "boxposition",
                "boxlocation",
                "conduit",
                "junctionbox",
                "boxmount",
                "terminalbox",
            ],
        ),
        (
            Length,
            &[
                "lengthin",
                "length",
                "overalllength",
                "lengthc",
                "cdim",
                "cdimension",
                "oal",
                "lessshaft",
            ],
        ),
        (
            CapacitorUf,
            &[
                "capacitoruf",
                "capacitor",
                "cap",
                "mfd",
                "uf",
                "capuf",
                "capmfd",
                "capacitormfd",
                "microfarad",
                "microfarads",
                "runcap",
                "runcapacitor",
                "runcapuf",
                "runcapmfd",
            ],
        ),
        (
            CapacitorVolts,
            &[
                "capacitorvolts",
                "capvolts",
                "capv",
                "capvac",
                "capacitorvac",
                "capacitorv",
                "capvoltage",
            ],
        ),
        (
            ShaftLength,
            &[
                "shaftlengthin",
                "shaftlength",
                "shaftlen",
                "shaftextension",
                "shaftext",
                "shaftnw",
            ],
        ),
        (
            ShaftFlats,
            &["shaftflats", "flats", "noofflats", "shaftflat"],
        ),
        (
            ShaftEnds,
            &[
                "shaftends",
                "shaftend",
                "shafts",
                "noofshafts",
                "shafttype",
                "doubleshaft",
            ],
        ),
        (
            Mounting,
            &[
                "bauform",
                "mounting",
                "mount",
                "mounttype",
                "mountingtype",
                "base",
                "basetype",
                "imcode",
                "mountingposition",
            ],
        ),
        (
            ThermalProtection,
            &[
                "thermalprotection",
                "thermalprotector",
                "protection",
                "thermal",
                "overload",
                "overloadprotection",
                "motorprotection",
                "thermprot",
                "thermalprot",
                "tp",
                "reset",
            ],
        ),
        (
            Bearings,
            &["bearings", "bearing", "bearingtype", "brg", "brgs"],
        ),
        (Design, &["design", "designletter", "nemadesign"]),
        (
            KvaCode,
            &["kvacode", "codeletter", "kva", "lockedrotorcode", "lrcode"],
        ),
        (
            Quantity,
            &[
                "menge",
                "bestand",
                "anzahl",
                "quantity",
                "qty",
                "onhand",
                "qtyonhand",
                "qoh",
                "instock",
                "stock",
                "stockqty",
                "count",
                "available",
                "pcs",
                "avail",
            ],
        ),
        (
            Price,
            &[
                "preis",
                "price",
                "cost",
                "list",
                "listprice",
                "unitprice",
                "net",
                "sell",
                "retail",
                "unitcost",
            ],
        ),
        (
            Location,
            &[
                "lagerort",
                "lagerplatz",
                "regal",
                "location",
                "bin",
                "shelf",
                "loc",
                "rack",
                "warehouse",
                "aisle",
                "binlocation",
                "branch",
                "place",
                "bay",
            ],
        ),
        (
            Notes,
            &[
                "bemerkung",
                "bezeichnung",
                "beschreibung",
                "notes",
                "note",
                "remarks",
                "remark",
                "comment",
                "comments",
                "description",
                "desc",
                "descr",
                "details",
                "info",
            ],
        ),
    ]
};

/// Letters and digits in lower case; a micro sign counts as `u`.
fn compact(header: &str) -> String {
    header
        .chars()
        .map(|c| if matches!(c, 'µ' | 'μ') { 'u' } else { c })
        .filter(|c| c.is_alphanumeric())
        .flat_map(char::to_lowercase)
        .collect()
}

/// The column that a header names; `None` for one that is unknown.
pub(super) fn column(header: &str) -> Option<Column> {
    let wanted = compact(header);
    SPELLINGS
        .iter()
        .find(|(_, names)| names.contains(&wanted.as_str()))
        .map(|(c, _)| *c)
}

/// The columns of a header line. A second column of one kind is kept as an unknown one.
pub(super) fn columns<'a>(headers: impl IntoIterator<Item = &'a str>) -> Vec<Option<Column>> {
    Mapping::default().columns(headers)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_spelling_means_one_column() {
        let mut seen = std::collections::HashMap::new();
        for (column, names) in SPELLINGS {
            for name in *names {
                assert_eq!(seen.insert(*name, *column), None, "{name}");
            }
        }
    }

    #[test]
    fn headers_as_shops_write_them() {
        for (header, expected) in [
            ("Item No.", Some(Column::Sku)),
            ("H.P.", Some(Column::Hp)),
            ("Encl.", Some(Column::Enclosure)),
            ("S.F.", Some(Column::ServiceFactor)),
            ("capacitor_uf", Some(Column::CapacitorUf)),
            ("Cap µF", Some(Column::CapacitorUf)),
            ("On hand", Some(Column::Quantity)),
            ("BIN", Some(Column::Location)),
            ("shaft_diameter_in", Some(Column::ShaftDiameter)),
            ("Thermal Prot", Some(Column::ThermalProtection)),
            ("thermal_protection", Some(Column::ThermalProtection)),
            ("Shaft length (in)", Some(Column::ShaftLength)),
            ("Bearing Type", Some(Column::Bearings)),
            ("Code letter", Some(Column::KvaCode)),
            ("Baugröße", Some(Column::Frame)),
            ("Artikel-Nr.", Some(Column::Sku)),
            ("Colour", None),
            ("", None),
        ] {
            assert_eq!(column(header), expected, "{header}");
        }
    }

    #[test]
    fn a_repeated_column_is_not_read_twice() {
        assert_eq!(
            columns(["SKU", "Part No", "HP"]),
            [Some(Column::Sku), None, Some(Column::Hp)]
        );
    }
}
