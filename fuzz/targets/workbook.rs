//! A stock list as a workbook: its bytes, or one of the parts inside (whose checksums a fuzzer would never meet).
#![no_main]

use libfuzzer_sys::fuzz_target;
use platewright::stock::{Mapping, StockList, header_uses};
use platewright_fuzz::{file, plant, zip};
use std::path::Path;

const TYPES: &str = r#"<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/><Default Extension="xml" ContentType="application/xml"/></Types>"#;
const RELS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const BOOK: &str = r#"<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="a" sheetId="1" r:id="r1"/></sheets></workbook>"#;
const BOOK_RELS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/><Relationship Id="r3" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/></Relationships>"#;
const SHEET: &str = r#"<?xml version="1.0"?><worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><dimension ref="A1:C2"/><sheetData><row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="inlineStr"><is><t>hp</t></is></c><c r="C1" t="str"><v>volts</v></c></row><row r="2"><c r="A2" t="s"><v>1</v></c><c r="B2" s="1"><v>0.5</v></c><c r="C2" t="e"><v>#N/A</v></c></row></sheetData></worksheet>"#;
const STRINGS: &str = r#"<?xml version="1.0"?><sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" count="2" uniqueCount="2"><si><t>sku</t></si><si><r><t>A-</t></r><r><t>1</t></r></si></sst>"#;
const STYLES: &str = r#"<?xml version="1.0"?><styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><numFmts count="1"><numFmt numFmtId="164" formatCode="yyyy-mm-dd"/></numFmts><cellXfs count="2"><xf numFmtId="0"/><xf numFmtId="164"/></cellXfs></styleSheet>"#;
const PARTS: [&str; 5] = [SHEET, STRINGS, STYLES, BOOK, BOOK_RELS];

fuzz_target!(
    init: plant(|| {
        let whole = file("tests/cases/shop.xlsx");
        let parts = PARTS.iter().zip(0u8..).map(|(part, i)| [&[i], part.as_bytes()].concat());
        parts.chain([[&[5], whole.as_slice()].concat()]).collect()
    }),
    |data: &[u8]| {
        let Some((&which, rest)) = data.split_first() else {
            return;
        };
        let packed;
        let bytes = if which < 5 {
            let mut parts = PARTS.map(str::as_bytes);
            parts[usize::from(which)] = rest;
            packed = zip(&[
                ("[Content_Types].xml", TYPES.as_bytes()),
                ("_rels/.rels", RELS.as_bytes()),
                ("xl/worksheets/sheet1.xml", parts[0]),
                ("xl/sharedStrings.xml", parts[1]),
                ("xl/styles.xml", parts[2]),
                ("xl/workbook.xml", parts[3]),
                ("xl/_rels/workbook.xml.rels", parts[4]),
            ]);
            &packed
        } else {
            rest
        };
        let name = Path::new("list.xlsx");
        let _ = header_uses(bytes, name, &Mapping::default());
        let _ = StockList::from_bytes(bytes, name);
    }
);
