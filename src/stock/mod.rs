//! The shop's own stock list. Reads CSV and workbooks as shops keep them: any of the usual separators, encodings and
//! header spellings, values in the plate's notation. A row that cannot be understood is left out by name.

mod decode;
mod headers;
mod list;
mod motor;
mod row;
mod workbook;

pub use headers::{Mapping, column_names};
pub use list::{HeaderUse, MOST_BYTES, RowFault, StockError, StockList, header_uses};
pub use motor::StockMotor;
pub use row::inches;
