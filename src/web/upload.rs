//! Photos that come from a phone or from the counter.

use super::App;
use super::error::{PageError, sentence};
use super::form::{broken, bytes, text};
use super::person::Person;
use crate::photo::{MediaType, measure};
use crate::store::{NewEntry, NewPhoto, Source, SourceKind};
use axum::extract::{Multipart, State};
use axum::http::HeaderMap;
use axum::response::Redirect;

/// Most photos of one motor.
const MOST_PHOTOS: usize = 12;

/// Takes the photos of one motor. What is no photo is refused by name; the others are kept.
pub(super) async fn take(
    State(app): State<App>,
    person: Person,
    headers: HeaderMap,
    mut form: Multipart,
) -> Result<Redirect, PageError> {
    let _room = app.uploads().take(&headers).await?;
    let limits = app.reading().limits;
    let mut photos: Vec<NewPhoto> = Vec::new();
    let mut refused = Vec::new();
    let mut first_name = None;
    let mut from_counter = false;
    let mut is_ours = false;
    while let Some(mut field) = form.next_field().await.map_err(broken)? {
        match field.name() {
            Some("csrf") => {
                person.check(&text(&mut field).await?)?;
                is_ours = true;
            }
            Some("from") => from_counter = text(&mut field).await? == "counter",
            Some("photo") => {
                // The token stands first in our forms: nothing is taken in before it.
                if !is_ours {
                    return Err(PageError::Forged);
                }
                let name = shown_name(field.file_name().unwrap_or_default());
                let Some(bytes) = bytes(&mut field, limits.bytes).await? else {
                    let most = limits.bytes >> 20;
                    refused.push(format!(
                        "{name}: is larger than {most} MiB. Crop it to the plate"
                    ));
                    continue;
                };
                if bytes.is_empty() && name.is_empty() {
                    continue;
                }
                if photos.len() >= MOST_PHOTOS {
                    refused.push(format!("{name}: at most {MOST_PHOTOS} photos of one motor"));
                    continue;
                }
                let checked = tokio::task::spawn_blocking(move || {
                    let size = measure(&bytes, &limits);
                    (bytes, size)
                });
                let (bytes, size) = checked.await?;
                match (MediaType::of(&bytes), size) {
                    (Some(media), Ok(size)) => {
                        first_name.get_or_insert(name);
                        photos.push(NewPhoto {
                            bytes,
                            media,
                            size: Some(size),
                        });
                    }
                    (_, Err(error)) => {
                        refused.push(error.to_string().replacen("the photo", &name, 1));
                    }
                    (None, Ok(_)) => refused.push(format!("{name}: is not a photo")),
                }
            }
            _ => {}
        }
    }
    if !is_ours {
        return Err(PageError::Forged);
    }
    if photos.is_empty() {
        let why = if refused.is_empty() {
            "no photo came; choose one and send it again".to_owned()
        } else {
            refused.join("; ")
        };
        return Err(PageError::Refused(sentence(&why)));
    }
    let kind = if from_counter {
        SourceKind::Counter
    } else {
        SourceKind::Phone
    };
    let new = NewEntry {
        source: Source::new(kind, person.name.clone()),
        file_name: first_name.unwrap_or_default(),
        photos,
        part: 0,
    };
    let (entry, _) = app.store().add(new).await?;
    app.queued().notify_one();
    let left_out = if refused.is_empty() {
        String::new()
    } else {
        format!("?left_out={}", refused.len())
    };
    Ok(Redirect::to(&if from_counter {
        format!("/{left_out}")
    } else {
        format!("/snap/{}{left_out}", entry.id)
    }))
}

/// A file's name as it is shown: its last part, one line, not too long.
fn shown_name(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    last.chars().filter(|c| !c.is_control()).take(120).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_is_only_shown() {
        for (name, shown) in [
            ("../../etc/passwd", "passwd"),
            ("C:\\photos\\a.jpg", "a.jpg"),
            ("a\r\nb.jpg", "ab.jpg"),
            ("", ""),
        ] {
            assert_eq!(shown_name(name), shown);
        }
    }
}
