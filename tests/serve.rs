//! The page over HTTP, without a browser: who gets in, what is refused, and that nothing is lost.

#[path = "common/mod.rs"]
mod common;
#[path = "common/server.rs"]
mod server;

use common::fixture;
use reqwest::header::{ACCEPT, HeaderMap};
use reqwest::multipart::{Form, Part};
use reqwest::{Client, Response, StatusCode};
use server::{Server, with_comment};
use std::time::{Duration, Instant};

/// A browser: keeps its cookie, says that it wants pages, follows nothing by itself.
fn browser() -> Client {
    let mut headers = HeaderMap::new();
    headers.insert(ACCEPT, "text/html".parse().unwrap());
    Client::builder()
        .cookie_store(true)
        .default_headers(headers)
        .redirect(reqwest::redirect::Policy::none())
        .build()
        .unwrap()
}

async fn text(response: Response) -> String {
    response.text().await.unwrap()
}

/// The token of the forms on a page.
fn csrf(html: &str) -> String {
    let (_, rest) = html.split_once("name=\"csrf\" value=\"").expect("a form");
    rest[..rest.find('"').unwrap()].to_owned()
}

async fn token(client: &Client, server: &Server) -> String {
    csrf(&text(client.get(server.at("/snap")).send().await.unwrap()).await)
}

fn photos(csrf: &str, files: Vec<(String, Vec<u8>)>) -> Form {
    let mut form = Form::new().text("csrf", csrf.to_owned());
    for (name, bytes) in files {
        form = form.part("photo", Part::bytes(bytes).file_name(name));
    }
    form
}

fn plate(name: &str) -> Vec<u8> {
    std::fs::read(fixture("plates").join(name)).unwrap()
}

/// The lines of the exported table.
/// The names of the photos in the table of the queue.
async fn files(client: &Client, server: &Server) -> Vec<String> {
    let answer = client.get(server.at("/export/motors.csv")).send();
    let table = text(answer.await.unwrap()).await;
    let mut reader = csv::Reader::from_reader(table.as_bytes());
    let column = reader.headers().unwrap().iter().position(|h| h == "file");
    let rows = reader.records().map(Result::unwrap);
    rows.map(|row| row[column.unwrap()].to_owned()).collect()
}

#[tokio::test]
async fn strangers_do_not_get_in() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &[]);
    let client = browser();
    let page = client.get(server.at("/")).send().await.unwrap();
    let policy = page.headers()["content-security-policy"]
        .to_str()
        .unwrap()
        .to_owned();
    assert!(
        policy.contains("default-src 'none'") && !policy.contains("unsafe"),
        "{policy}"
    );
    let cookie = page.headers()["set-cookie"].to_str().unwrap().to_owned();
    assert!(
        cookie.contains("HttpOnly") && cookie.contains("SameSite=Strict"),
        "{cookie}"
    );
    let html = text(page).await;
    assert!(
        !html.contains(" style=") && !html.contains("<script>") && !html.contains(" onclick"),
        "{html}"
    );

    // A name that somebody else made point to this machine.
    let rebound = client
        .get(server.at("/"))
        .header("host", "evil.example")
        .send()
        .await
        .unwrap();
    assert_eq!(rebound.status(), StatusCode::UNAUTHORIZED);
    // Every write, without a cookie, without the token of its form, and from another site.
    let good = token(&client, &server).await;
    for path in [
        "/entry/x/answer",
        "/entry/x/undo",
        "/entry/x/retry",
        "/stock/import",
        "/stock/undo",
        "/devices/code",
        "/devices/name",
        "/devices/revoke",
    ] {
        let body = format!(
            "csrf=wrong&key=amps&printed=1&seq=1&name=x&device=x&hash={}",
            "0".repeat(64)
        );
        let post = |client: &Client, body: String| {
            client
                .post(server.at(path))
                .header("content-type", "application/x-www-form-urlencoded")
                .body(body)
        };
        let status = post(&browser(), body.clone())
            .send()
            .await
            .unwrap()
            .status();
        assert_eq!(status, StatusCode::UNAUTHORIZED, "{path}");
        let status = post(&client, body.clone()).send().await.unwrap().status();
        assert_eq!(status, StatusCode::FORBIDDEN, "{path}");
        let body = body.replace("wrong", &good);
        let status = post(&client, body)
            .header("sec-fetch-site", "cross-site")
            .send()
            .await
            .unwrap()
            .status();
        assert_eq!(status, StatusCode::FORBIDDEN, "{path}");
    }
    for path in ["/upload", "/stock/preview"] {
        let form = photos("wrong", vec![("a.jpg".to_owned(), b"x".to_vec())]);
        let status = client
            .post(server.at(path))
            .multipart(form)
            .send()
            .await
            .unwrap()
            .status();
        assert_eq!(status, StatusCode::FORBIDDEN, "{path}");
    }
    for path in [
        "/assets/../Cargo.toml",
        "/assets/%2e%2e%2fmod.rs",
        "/photo/../../x/view.jpg",
        "/entry/%27%20OR%201",
        "/nothing",
    ] {
        let status = client.get(server.at(path)).send().await.unwrap().status();
        assert_eq!(status, StatusCode::NOT_FOUND, "{path}");
    }
}

#[tokio::test]
async fn a_phone_needs_a_code_and_a_code_is_good_once() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &["--lan"]);
    let code = server.code.clone().expect("a code");
    let phone = browser();
    let sent_away = phone.get(server.at("/snap")).send().await.unwrap();
    assert_eq!(sent_away.headers()["location"], "/pair");
    for path in ["/events", "/export/motors.csv", "/photo/x/view.jpg"] {
        let bare = Client::new().get(server.at(path)).send().await.unwrap();
        assert_eq!(bare.status(), StatusCode::UNAUTHORIZED, "{path}");
    }
    // Looking at the address does not use the code up.
    let looked = phone
        .get(server.at(&format!("/pair?code={code}")))
        .send()
        .await
        .unwrap();
    assert!(text(looked).await.contains(&code));
    let pair = async |client: &Client, code: &str| {
        let form = format!("code={code}&name=Kim%27s+%3Cphone%3E");
        let post = client
            .post(server.at("/pair"))
            .header("content-type", "application/x-www-form-urlencoded");
        post.body(form).send().await.unwrap()
    };
    assert_eq!(
        pair(&phone, "WRONG234").await.status(),
        StatusCode::FORBIDDEN
    );
    assert_eq!(pair(&phone, &code).await.status(), StatusCode::SEE_OTHER);
    let snap = phone.get(server.at("/snap")).send().await.unwrap();
    assert_eq!(snap.status(), StatusCode::OK);
    let html = text(snap).await;
    assert!(html.contains("Kim") && !html.contains("<phone>"));
    assert_eq!(
        pair(&browser(), &code).await.status(),
        StatusCode::FORBIDDEN
    );
    // A paired device makes the next code, and can be sent away again.
    let form = format!("csrf={}", csrf(&html));
    let post = phone
        .post(server.at("/devices/code"))
        .header("content-type", "application/x-www-form-urlencoded");
    let devices = text(post.body(form).send().await.unwrap()).await;
    assert!(devices.contains("<svg") && devices.contains("/pair?code="));
}

#[tokio::test]
async fn what_is_no_photo_is_refused_and_names_are_only_shown() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &[]);
    let client = browser();
    let csrf = token(&client, &server).await;
    let upload = async |files: Vec<(String, Vec<u8>)>| {
        client
            .post(server.at("/upload"))
            .multipart(photos(&csrf, files))
            .send()
            .await
            .unwrap()
    };
    // A PNG whose header claims 30,000 x 30,000 pixels.
    let mut huge = Vec::new();
    image::RgbImage::new(1, 1)
        .write_to(
            &mut std::io::Cursor::new(&mut huge),
            image::ImageFormat::Png,
        )
        .unwrap();
    huge[16..24].copy_from_slice(&[0, 0, 0x75, 0x30, 0, 0, 0x75, 0x30]);
    huge[29..33].copy_from_slice(&[0xE9, 0x45, 0x6F, 0xED]);
    for (name, bytes) in [
        ("a.jpg", b"<svg onload=alert(1)>".to_vec()),
        ("b.jpg", Vec::new()),
        ("huge.png", huge),
    ] {
        let refused = upload(vec![(name.to_owned(), bytes)]).await;
        assert_eq!(refused.status(), StatusCode::UNPROCESSABLE_ENTITY, "{name}");
    }
    let odd = "../../<img src=x onerror=alert(1)>=1+1.jpg";
    let taken = upload(vec![(
        odd.to_owned(),
        plate("02-easy-boxed-grid-printed.jpg"),
    )])
    .await;
    assert_eq!(taken.status(), StatusCode::SEE_OTHER);
    let queue = text(client.get(server.at("/")).send().await.unwrap()).await;
    assert!(
        !queue.contains("<img src=x") && queue.contains("&#60;img src=x"),
        "{queue}"
    );
    // All that lies in the store has a name of its own making.
    for shelf in std::fs::read_dir(folder.path().join("photos")).unwrap() {
        for file in std::fs::read_dir(shelf.unwrap().path()).unwrap() {
            let name = file.unwrap().file_name().into_string().unwrap();
            assert!(name.len() == 68 && name.ends_with(".jpg"), "{name}");
        }
    }
}

/// 20 phones with 5 photos each at the same time; then the power fails. Nothing is lost, and meanwhile the queue answers
/// within a multiple of the time that it takes in this very run when nothing else happens. The multiple is generous,
/// and two seconds are always allowed, since the machine that tests may be busy with other things.
#[tokio::test(flavor = "multi_thread", worker_threads = 4)]
async fn nothing_is_lost_when_twenty_phones_send_at_once() {
    const PHONES: usize = 20;
    const PHOTOS: usize = 5;
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &[]);
    let counter = browser();
    token(&counter, &server).await;
    let answer_time = async || {
        let started = Instant::now();
        let page = counter.get(server.at("/")).send().await.unwrap();
        assert_eq!(page.status(), StatusCode::OK);
        text(page).await;
        started.elapsed()
    };
    let mut idle = Vec::new();
    for _ in 0..20 {
        idle.push(answer_time().await);
    }
    let jpeg = plate("02-easy-boxed-grid-printed.jpg");
    let phones = (0..PHONES).map(|phone| {
        let (jpeg, address, snap) = (jpeg.clone(), server.at("/upload"), server.at("/snap"));
        tokio::spawn(async move {
            let client = browser();
            let csrf = csrf(&text(client.get(snap).send().await.unwrap()).await);
            for photo in 0..PHOTOS {
                let bytes = with_comment(&jpeg, &format!("phone {phone} photo {photo}"));
                let form = photos(&csrf, vec![(format!("{phone}-{photo}.jpg"), bytes)]);
                let sent = client.post(&address).multipart(form).send().await.unwrap();
                assert_eq!(sent.status(), StatusCode::SEE_OTHER);
            }
        })
    });
    let phones: Vec<_> = phones.collect();
    let mut busy = Vec::new();
    while phones.iter().any(|p| !p.is_finished()) {
        busy.push(answer_time().await);
        tokio::time::sleep(Duration::from_millis(50)).await;
    }
    for phone in phones {
        phone.await.unwrap();
    }
    let median = |times: &mut Vec<Duration>| {
        times.sort();
        times.get(times.len() / 2).copied().unwrap_or_default()
    };
    let (idle, usual) = (median(&mut idle), median(&mut busy));
    println!(
        "queue answers in {idle:?} (median) when idle, {usual:?} while {} photos come ({} answers, slowest {:?})",
        PHONES * PHOTOS,
        busy.len(),
        busy.last()
    );
    let most = (50 * idle).max(Duration::from_secs(2));
    assert!(usual <= most, "{usual:?} instead of at most {most:?}");
    server.kill();
    let server = Server::start(folder.path(), &[]);
    let counter = browser();
    token(&counter, &server).await;
    let mut names = files(&counter, &server).await;
    names.sort();
    names.dedup();
    assert_eq!(names.len(), PHONES * PHOTOS);
    drop(server);
    common::platewright()
        .args(["check-store", "--store"])
        .arg(folder.path())
        .assert()
        .success();
}

#[tokio::test]
async fn a_photo_that_is_there_already_is_told() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &[]);
    let client = browser();
    let csrf = token(&client, &server).await;
    let original = plate("02-easy-boxed-grid-printed.jpg");
    let small = image::load_from_memory(&original)
        .unwrap()
        .thumbnail(800, 800);
    let mut copy = std::io::Cursor::new(Vec::new());
    small
        .to_rgb8()
        .write_to(&mut copy, image::ImageFormat::Jpeg)
        .unwrap();
    for (name, bytes) in [("original.jpg", original), ("copy.jpg", copy.into_inner())] {
        let form = photos(&csrf, vec![(name.to_owned(), bytes)]);
        let sent = client.post(server.at("/upload")).multipart(form).send();
        assert_eq!(sent.await.unwrap().status(), StatusCode::SEE_OTHER);
    }
    let started = Instant::now();
    let queue = loop {
        let queue = text(client.get(server.at("/")).send().await.unwrap()).await;
        if queue.contains("Looks like the same photo as <a")
            || started.elapsed() > Duration::from_secs(120)
        {
            break queue;
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    };
    let (_, link) = queue
        .split_once("Looks like the same photo as <a href=\"")
        .expect("the hint");
    let (first, rest) = link.split_once("\">").unwrap();
    assert!(rest.starts_with("original.jpg</a>"), "{queue}");
    assert_eq!(
        queue.matches("Looks like the same photo as").count(),
        1,
        "{queue}"
    );
    let (_, entry) = queue.split_once("<h2><a href=\"").unwrap();
    let newest = &entry[..entry.find('"').unwrap()];
    let page = text(client.get(server.at(newest)).send().await.unwrap()).await;
    assert!(
        page.contains(&format!(
            "Looks like the same photo as <a href=\"{first}\">original.jpg</a>"
        )),
        "{page}"
    );
}
