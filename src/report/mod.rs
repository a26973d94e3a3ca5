//! The summary report: one HTML file about everything in a store, with its plots inside, that opens without any net.
//! The bars are drawn by the template itself: they take their colours from the reader's colour scheme, and each is a
//! rectangle with a number beside it, for which a plotting library would be the longer way.

mod bars;
mod summary;

pub use summary::Summary;

use askama::Template;
use bars::{Chart, Stack};

/// The report as a page.
#[derive(Template)]
#[template(path = "report.html")]
struct Page<'a> {
    summary: &'a Summary,
    made: &'a str,
    store: &'a str,
    /// The address of the served page, for links to the entries; empty for none.
    page: &'a str,
    /// Each with its anchor and its title.
    stacks: [(&'static str, &'static str, Stack); 2],
    charts: [Chart; 3],
}

/// The report as HTML. `page` is the address where the store is served, if it is: entries then link there. `store` says
/// where it lies.
pub fn html(
    summary: &Summary,
    store: &str,
    made: &str,
    page: Option<&str>,
) -> Result<String, askama::Error> {
    let page = Page {
        made,
        store,
        page: page.unwrap_or_default().trim_end_matches('/'),
        stacks: [
            ("fields", "By field", Stack::of_fields(summary)),
            ("sources", "By source", Stack::of_sources(summary)),
        ],
        charts: [
            Chart::new("Horsepower", "hp", &summary.hp),
            Chart::new("Volts", "V", &summary.volts),
            Chart::new("Frames", "", &summary.frames),
        ],
        summary,
    };
    page.render()
}
