//! The entries as a Parquet file, for tools that analyse: a column for what each field's characters are, its state, its
//! confidence, and its value as text or as a list of numbers.

use super::Store;
use super::export::{ExportError, Exported};
use crate::record::{Field, Reading};
use parquet::basic::Compression;
use parquet::data_type::{ByteArray, ByteArrayType, DoubleType, Int32Type, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::SerializedFileWriter;
use parquet::schema::parser::parse_message_type;
use std::io::Write;
use std::sync::Arc;

/// So many entries are held in memory before they are written.
const GROUP: usize = 2000;

/// A column: its declaration, and how its cells are taken from an entry.
struct Column {
    declared: String,
    cells: Cells,
}

type Cell<T> = Box<dyn Fn(&Exported) -> Option<T> + Send>;

enum Cells {
    Text(Cell<String>),
    Time(fn(&Exported) -> i64),
    Count(fn(&Exported) -> u32),
    Number(Cell<f64>),
    Numbers(Cell<Vec<f64>>),
}

/// Writes the entries as Parquet.
pub async fn export_parquet(store: &Store, out: impl Write + Send) -> Result<(), ExportError> {
    let columns = columns();
    let declared: Vec<&str> = columns.iter().map(|c| c.declared.as_str()).collect();
    let schema = format!("message motors {{ {} }}", declared.join(" "));
    let schema = Arc::new(parse_message_type(&schema).map_err(failed)?);
    let properties = WriterProperties::builder()
        .set_compression(Compression::SNAPPY)
        .set_created_by(format!("platewright {}", env!("CARGO_PKG_VERSION")))
        .build();
    let mut file = SerializedFileWriter::new(out, schema, Arc::new(properties)).map_err(failed)?;
    let mut group = Vec::new();
    store
        .export(|mut exported| -> Result<(), ExportError> {
            // Its lines are what is large about a record, and are not written.
            if let Some(record) = &mut exported.record {
                record.lines.clear();
            }
            group.push(exported);
            if group.len() == GROUP {
                write(&mut file, &columns, &group)?;
                group.clear();
            }
            Ok(())
        })
        .await?;
    if !group.is_empty() {
        write(&mut file, &columns, &group)?;
    }
    file.close().map_err(failed)?;
    Ok(())
}

fn failed(error: ParquetError) -> ExportError {
    ExportError::Table(error.to_string())
}

/// All columns, in their order.
fn columns() -> Vec<Column> {
    let text = |name: &str, of: fn(&Exported) -> Option<String>| Column {
        declared: format!("optional binary {name} (STRING);"),
        cells: Cells::Text(Box::new(of)),
    };
    let mut all = vec![
        text("id", |e| Some(e.entry.id.clone())),
        text("source", |e| Some(e.entry.source.kind.word().to_owned())),
        text("origin", |e| Some(e.entry.source.detail.origin.clone())),
        text("sender", |e| e.entry.source.detail.sender.clone()),
        text("subject", |e| e.entry.source.detail.subject.clone()),
        text("file", |e| Some(e.entry.file_name.clone())),
        Column {
            declared: "required int64 added (TIMESTAMP(MILLIS,true));".to_owned(),
            cells: Cells::Time(|e| e.entry.created_ms),
        },
        text("state", |e| Some(e.entry.state.word().to_owned())),
        text("failure", |e| Some(e.entry.failure.clone()?.1)),
        Column {
            declared: "required int32 questions;".to_owned(),
            cells: Cells::Count(|e| e.entry.questions),
        },
        text("class", |e| {
            Some(e.record.as_ref()?.class.value.to_string())
        }),
        text("class_state", |e| {
            Some(e.record.as_ref()?.class.state.to_string())
        }),
    ];
    all.extend(Field::ALL.iter().flat_map(|field| of_field(*field)));
    all.push(text("same_as", |e| Some(e.same.as_ref()?.first.clone())));
    all.push(text("same_by", |e| {
        Some(e.same.as_ref()?.by.word().to_owned())
    }));
    all
}

/// The four columns of a field.
fn of_field(field: Field) -> [Column; 4] {
    fn reading(exported: &Exported, field: Field) -> Option<&Reading> {
        exported.record.as_ref()?.fields.get(&field)
    }
    let key = field.key();
    let value = match field.is_text() {
        true => Column {
            declared: format!("optional binary {key}_value (STRING);"),
            cells: Cells::Text(Box::new(move |e| {
                Some(reading(e, field)?.value.as_ref()?.text()?.to_owned())
            })),
        },
        false => Column {
            declared: format!(
                "optional group {key}_value (LIST) {{ repeated group list {{ required double element; }} }}"
            ),
            cells: Cells::Numbers(Box::new(move |e| {
                Some(reading(e, field)?.value.as_ref()?.numbers().to_vec())
            })),
        },
    };
    [
        Column {
            declared: format!("optional binary {key} (STRING);"),
            cells: Cells::Text(Box::new(move |e| reading(e, field)?.printed.clone())),
        },
        Column {
            declared: format!("optional binary {key}_state (STRING);"),
            cells: Cells::Text(Box::new(move |e| {
                e.record.as_ref()?;
                Some(reading(e, field).map_or("absent".to_owned(), |r| r.state.to_string()))
            })),
        },
        Column {
            declared: format!("optional double {key}_confidence;"),
            cells: Cells::Number(Box::new(move |e| {
                let reading = reading(e, field)?;
                reading.printed.as_ref().map(|_| reading.confidence)
            })),
        },
        value,
    ]
}

fn write<W: Write + Send>(
    file: &mut SerializedFileWriter<W>,
    columns: &[Column],
    entries: &[Exported],
) -> Result<(), ExportError> {
    let mut written = || -> Result<(), ParquetError> {
        let mut group = file.next_row_group()?;
        for column in columns {
            let mut writer = group
                .next_column()?
                .ok_or_else(|| ParquetError::General("a column too many".to_owned()))?;
            match &column.cells {
                Cells::Text(of) => {
                    let (levels, values) =
                        optional(entries, |e| Some(ByteArray::from(of(e)?.into_bytes())));
                    writer
                        .typed::<ByteArrayType>()
                        .write_batch(&values, Some(&levels), None)?;
                }
                Cells::Number(of) => {
                    let (levels, values) = optional(entries, of);
                    writer
                        .typed::<DoubleType>()
                        .write_batch(&values, Some(&levels), None)?;
                }
                Cells::Time(of) => {
                    let values: Vec<i64> = entries.iter().map(of).collect();
                    writer
                        .typed::<Int64Type>()
                        .write_batch(&values, None, None)?;
                }
                Cells::Count(of) => {
                    let count = |e| i32::try_from(of(e)).unwrap_or(i32::MAX);
                    let values: Vec<i32> = entries.iter().map(count).collect();
                    writer
                        .typed::<Int32Type>()
                        .write_batch(&values, None, None)?;
                }
                Cells::Numbers(of) => {
                    let List {
                        values,
                        definition,
                        repetition,
                    } = lists(entries, of);
                    writer.typed::<DoubleType>().write_batch(
                        &values,
                        Some(&definition),
                        Some(&repetition),
                    )?;
                }
            }
            writer.close()?;
        }
        group.close()?;
        Ok(())
    };
    written().map_err(failed)
}

/// The definition levels of an optional column (1 where there is a value) and its values.
fn optional<T>(entries: &[Exported], of: impl Fn(&Exported) -> Option<T>) -> (Vec<i16>, Vec<T>) {
    let mut levels = Vec::with_capacity(entries.len());
    let mut values = Vec::new();
    for entry in entries {
        let value = of(entry);
        levels.push(i16::from(value.is_some()));
        values.extend(value);
    }
    (levels, values)
}

/// A column of lists as Parquet keeps it.
struct List {
    values: Vec<f64>,
    /// 0 no list, 1 an empty one, 2 a number.
    definition: Vec<i16>,
    /// 0 begins a list, 1 goes on with it.
    repetition: Vec<i16>,
}

fn lists(entries: &[Exported], of: impl Fn(&Exported) -> Option<Vec<f64>>) -> List {
    let mut list = List {
        values: Vec::new(),
        definition: Vec::new(),
        repetition: Vec::new(),
    };
    for entry in entries {
        let numbers = of(entry);
        match numbers.as_deref() {
            None | Some([]) => {
                list.definition.push(i16::from(numbers.is_some()));
                list.repetition.push(0);
            }
            Some(numbers) => {
                for (at, number) in numbers.iter().enumerate() {
                    list.values.push(*number);
                    list.definition.push(2);
                    list.repetition.push(i16::from(at > 0));
                }
            }
        }
    }
    list
}
