//! What a browser sends: the form of the photos, with the token of its cookie in front.
#![no_main]

use axum::body::Body;
use axum::http::{Request, StatusCode, header};
use image::ImageFormat;
use libfuzzer_sys::fuzz_target;
use platewright::store::{Location, Store, Versions};
use platewright::text::{ModelSource, Reader};
use platewright::web::{App, Options};
use platewright_fuzz::{plant, tiny};
use std::sync::LazyLock;
use tokio::runtime::{Builder, Runtime};
use tower::ServiceExt;

struct Site {
    runtime: Runtime,
    app: App,
    cookie: String,
    csrf: String,
    _folder: tempfile::TempDir,
}

static SITE: LazyLock<Site> = LazyLock::new(|| {
    let runtime = Builder::new_multi_thread()
        .worker_threads(1)
        .enable_all()
        .build()
        .expect("threads");
    let folder = tempfile::tempdir().expect("a folder");
    let location = Location {
        folder: folder.path().to_owned(),
        database: None,
        photos: None,
    };
    let (app, cookie, csrf) = runtime.block_on(async {
        let store = Store::open(&location).await.expect("a store");
        let reader = Reader::load(&ModelSource::Embedded).expect("the models");
        let app = App::new(
            store,
            reader,
            Versions::with_models("none"),
            Options::default(),
        );
        let page = Request::get("/snap")
            .header(header::HOST, "localhost")
            .header(header::ACCEPT, "text/html");
        let answer = platewright::web::app(&app)
            .oneshot(page.body(Body::empty()).expect("a request"))
            .await
            .expect("an answer");
        let cookie = answer.headers()[header::SET_COOKIE].to_str().expect("text");
        let cookie = cookie.split(';').next().expect("a cookie").to_owned();
        let html = axum::body::to_bytes(answer.into_body(), 1 << 20)
            .await
            .expect("a page");
        let html = String::from_utf8_lossy(&html).into_owned();
        let (_, rest) = html.split_once("name=\"csrf\" value=\"").expect("a form");
        (
            app,
            cookie,
            rest.split('"').next().expect("a token").to_owned(),
        )
    });
    Site {
        runtime,
        app,
        cookie,
        csrf,
        _folder: folder,
    }
});

fuzz_target!(
    init: plant(|| {
        let photo = tiny(ImageFormat::Png);
        let part = |head: &str, body: &[u8]| {
            [b"--b\r\nContent-Disposition: form-data; ".as_slice(), head.as_bytes(), b"\r\n\r\n", body, b"\r\n"].concat()
        };
        let end = b"--b--\r\n".as_slice();
        vec![
            [part("name=\"photo\"; filename=\"a.png\"\r\nContent-Type: image/png", &photo), end.to_vec()].concat(),
            [part("name=\"from\"", b"counter"), part("name=\"photo\"; filename*=UTF-8''%e2%82%ac.jpg", b"x"), end.to_vec()].concat(),
        ]
    }),
    |data: &[u8]| {
        let site = &*SITE;
        let token = format!("--b\r\nContent-Disposition: form-data; name=\"csrf\"\r\n\r\n{}\r\n", site.csrf);
        let request = Request::post("/upload")
            .header(header::HOST, "localhost")
            .header(header::COOKIE, &site.cookie)
            .header(header::CONTENT_TYPE, "multipart/form-data; boundary=b")
            .body(Body::from([token.as_bytes(), data].concat()))
            .expect("a request");
        let answer = site.runtime.block_on(platewright::web::app(&site.app).oneshot(request)).expect("an answer");
        let status = answer.status();
        assert!(status != StatusCode::INTERNAL_SERVER_ERROR, "{status}");
    }
);
