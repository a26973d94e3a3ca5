//! What stands before every page: who may come in, and the headers that keep strangers' text harmless.

use super::App;
use super::error::PageError;
use super::person::{Person, csrf, token};
use axum::body::Body;
use axum::extract::State;
use axum::http::{HeaderMap, HeaderName, HeaderValue, Method, Request, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};

/// Name of the cookie.
const COOKIE: &str = "platewright";

/// A year, in seconds.
const COOKIE_AGE: u32 = 31_536_000;

/// Nothing from elsewhere, no script or style inside a page, no frame around it.
const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; \
    connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

/// The `Set-Cookie` of a token.
pub(super) fn cookie(token: &str) -> String {
    format!("{COOKIE}={token}; HttpOnly; SameSite=Strict; Path=/; Max-Age={COOKIE_AGE}")
}

/// Puts the headers on every answer.
pub(super) async fn harden(request: Request<Body>, next: Next) -> Response {
    let is_asset = request.uri().path().starts_with("/assets/");
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    let fixed = [
        (header::CONTENT_SECURITY_POLICY, POLICY),
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (header::REFERRER_POLICY, "same-origin"),
        (
            HeaderName::from_static("cross-origin-opener-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("cross-origin-resource-policy"),
            "same-origin",
        ),
        (
            HeaderName::from_static("permissions-policy"),
            "geolocation=(), microphone=()",
        ),
    ];
    for (name, value) in fixed {
        headers.insert(name, HeaderValue::from_static(value));
    }
    let cache = if is_asset {
        "public, max-age=3600"
    } else {
        "no-store"
    };
    headers
        .entry(header::CACHE_CONTROL)
        .or_insert(HeaderValue::from_static(cache));
    response
}

/// Lets in who shows a cookie that was given out, and on the machine itself, where it is not open to phones,
/// everybody who calls it by its own name.
pub(super) async fn admit(
    State(app): State<App>,
    mut request: Request<Body>,
    next: Next,
) -> Result<Response, PageError> {
    let headers = request.headers();
    if !app.lan() && !is_own_name(headers) {
        return Err(PageError::NotPaired);
    }
    if request.method() != Method::GET && is_from_elsewhere(headers) {
        return Err(PageError::Forged);
    }
    if let Some(token) = cookie_of(headers)
        && let Some(device) = app.store().device(&token).await?
    {
        request.extensions_mut().insert(Person {
            name: device.name,
            token_hash: device.token_hash,
            csrf: csrf(&token),
            lan: app.lan(),
        });
        return Ok(next.run(request).await);
    }
    if app.lan() {
        let goes_to_page = request.method() == Method::GET && wants_page(headers);
        return Ok(if goes_to_page {
            Redirect::to("/pair").into_response()
        } else {
            PageError::NotPaired.into_response()
        });
    }
    if request.method() != Method::GET || !wants_page(headers) {
        return Err(PageError::NotPaired);
    }
    // The first page of a browser on this machine: from now on it has a token, and with it a form token.
    let token = token()?;
    app.store().add_device(&token, "counter").await?;
    let device = app
        .store()
        .device(&token)
        .await?
        .ok_or(PageError::NotPaired)?;
    request.extensions_mut().insert(Person {
        name: device.name,
        token_hash: device.token_hash,
        csrf: csrf(&token),
        lan: false,
    });
    let mut response = next.run(request).await;
    if let Ok(value) = HeaderValue::from_str(&cookie(&token)) {
        response.headers_mut().append(header::SET_COOKIE, value);
    }
    Ok(response)
}

fn wants_page(headers: &HeaderMap) -> bool {
    headers
        .get(header::ACCEPT)
        .and_then(|v| v.to_str().ok())
        .is_some_and(|accept| accept.contains("text/html"))
}

fn cookie_of(headers: &HeaderMap) -> Option<String> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|v| v.to_str().ok())
        .flat_map(|line| line.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(name, _)| *name == COOKIE)
        .map(|(_, token)| token.to_owned())
}

/// Whether the request names this machine as itself. A name that somebody else made point here is refused.
fn is_own_name(headers: &HeaderMap) -> bool {
    let host = headers.get(header::HOST).and_then(|v| v.to_str().ok());
    host.is_some_and(|host| {
        let name = match host.rsplit_once(':') {
            Some((name, port)) if port.bytes().all(|b| b.is_ascii_digit()) => name,
            _ => host,
        };
        matches!(name, "localhost" | "127.0.0.1" | "[::1]")
    })
}

/// Whether a browser says that a page of somebody else sent this.
fn is_from_elsewhere(headers: &HeaderMap) -> bool {
    let text = |name: &str| headers.get(name).and_then(|v| v.to_str().ok());
    if let Some(site) = text("sec-fetch-site") {
        return !matches!(site, "same-origin" | "none");
    }
    match (text("origin"), text("host")) {
        (Some(origin), Some(host)) => origin.split_once("://").map(|(_, o)| o) != Some(host),
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_its_own_name_is_its_own() {
        for (host, own) in [
            ("127.0.0.1:8080", true),
            ("localhost", true),
            ("[::1]:8080", true),
            ("shop.example:8080", false),
            ("127.0.0.1.example", false),
            ("localhost.example:80", false),
        ] {
            let mut headers = HeaderMap::new();
            headers.insert(header::HOST, HeaderValue::from_static(host));
            assert_eq!(is_own_name(&headers), own, "{host}");
        }
    }

    #[test]
    fn a_form_of_another_site_is_known() {
        for (pairs, elsewhere) in [
            (vec![("sec-fetch-site", "cross-site")], true),
            (vec![("sec-fetch-site", "same-origin")], false),
            (
                vec![("origin", "http://evil.example"), ("host", "10.0.0.2:8080")],
                true,
            ),
            (
                vec![
                    ("origin", "http://10.0.0.2:8080"),
                    ("host", "10.0.0.2:8080"),
                ],
                false,
            ),
            (vec![("origin", "null"), ("host", "10.0.0.2:8080")], true),
            (vec![], false),
        ] {
            let mut headers = HeaderMap::new();
            for (name, value) in &pairs {
                headers.insert(
                    HeaderName::from_static(name),
                    HeaderValue::from_static(value),
                );
            }
            assert_eq!(is_from_elsewhere(&headers), elsewhere, "{pairs:?}");
        }
    }
}
