//! Pairing: a code of the counter lets one phone in.

use super::App;
use super::error::PageError;
use super::guard::cookie;
use super::page::{Page, Shell, moment, page};
use super::person::{Person, token};
use askama::Template;
use axum::Form;
use axum::extract::{Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Redirect, Response};
use qrcode::QrCode;
use qrcode::render::svg;
use serde::Deserialize;

#[derive(Template)]
#[template(path = "pair.html")]
struct PairPage {
    shell: Shell,
    code: String,
    wrong: bool,
}

#[derive(Deserialize)]
pub(super) struct Asked {
    #[serde(default)]
    code: String,
}

/// Asks for the code. Only sending the form uses it up, so that nothing that merely looks at the address does.
pub(super) async fn show(Query(asked): Query<Asked>) -> Page {
    page(&PairPage {
        shell: Shell::outside(),
        code: asked.code.chars().take(20).collect(),
        wrong: false,
    })
}

#[derive(Deserialize)]
pub(super) struct Offered {
    code: String,
    #[serde(default)]
    name: String,
}

/// Lets a device in that sends a good code.
pub(super) async fn take(
    State(app): State<App>,
    Form(offered): Form<Offered>,
) -> Result<Response, PageError> {
    if !app.codes().take(&offered.code) {
        // Guessing is to be slow.
        tokio::time::sleep(std::time::Duration::from_millis(500)).await;
        let again = page(&PairPage {
            shell: Shell::outside(),
            code: String::new(),
            wrong: true,
        })?;
        return Ok((axum::http::StatusCode::FORBIDDEN, again).into_response());
    }
    let token = token()?;
    app.store()
        .add_device(&token, &name(&offered.name, "phone"))
        .await?;
    let set = [(header::SET_COOKIE, cookie(&token))];
    Ok((set, Redirect::to("/snap")).into_response())
}

/// A name as it is kept: one line, not too long.
fn name(given: &str, otherwise: &str) -> String {
    let plain: String = given
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .take(40)
        .collect();
    match plain.trim() {
        "" => otherwise.to_owned(),
        name => name.to_owned(),
    }
}

/// A line of the list of devices.
struct DeviceRow {
    name: String,
    since: String,
    token_hash: String,
    is_this: bool,
}

#[derive(Template)]
#[template(path = "devices.html")]
struct DevicesPage {
    shell: Shell,
    devices: Vec<DeviceRow>,
    code: Option<Fresh>,
}

/// A new code.
struct Fresh {
    code: String,
    link: String,
    picture: String,
}

/// Who is let in.
pub(super) async fn devices(State(app): State<App>, person: Person) -> Page {
    show_devices(&app, &person, None).await
}

async fn show_devices(app: &App, person: &Person, code: Option<Fresh>) -> Page {
    let devices = app.store().devices().await?;
    page(&DevicesPage {
        shell: Shell::new(person, "devices"),
        devices: devices
            .into_iter()
            .map(|d| DeviceRow {
                is_this: d.token_hash == person.token_hash,
                since: moment(d.paired_ms),
                name: d.name,
                token_hash: d.token_hash,
            })
            .collect(),
        code,
    })
}

#[derive(Deserialize)]
pub(super) struct Csrf {
    csrf: String,
}

/// Makes a code for another phone and shows it to scan.
pub(super) async fn new_code(
    State(app): State<App>,
    person: Person,
    Form(form): Form<Csrf>,
) -> Page {
    person.check(&form.csrf)?;
    let address = app.address().filter(|_| app.lan()).ok_or_else(|| {
        PageError::Refused(
            "phones are let in only when the server is started with --lan".to_owned(),
        )
    })?;
    let code = app.codes().make()?;
    let link = format!("{address}/pair?code={code}");
    let picture = QrCode::new(&link)
        .map_err(|e| PageError::Inside(e.to_string()))?
        .render::<svg::Color<'_>>()
        .min_dimensions(260, 260)
        .quiet_zone(true)
        .build();
    // Only the drawing, without the declaration that stands before it in a file.
    let picture = picture
        .find("<svg")
        .map_or(String::new(), |at| picture[at..].to_owned());
    show_devices(
        &app,
        &person,
        Some(Fresh {
            code,
            link,
            picture,
        }),
    )
    .await
}

#[derive(Deserialize)]
pub(super) struct Name {
    csrf: String,
    name: String,
}

/// Calls this device by another name.
pub(super) async fn rename(
    State(app): State<App>,
    person: Person,
    Form(form): Form<Name>,
) -> Result<Redirect, PageError> {
    person.check(&form.csrf)?;
    let name = name(&form.name, &person.name);
    app.store().rename_device(&person.token_hash, &name).await?;
    Ok(Redirect::to("/devices"))
}

#[derive(Deserialize)]
pub(super) struct Revoke {
    csrf: String,
    device: String,
}

/// Lets a device in no longer.
pub(super) async fn revoke(
    State(app): State<App>,
    person: Person,
    Form(form): Form<Revoke>,
) -> Result<Redirect, PageError> {
    person.check(&form.csrf)?;
    app.store()
        .revoke_device(&form.device, &person.name)
        .await?;
    Ok(Redirect::to("/devices"))
}
