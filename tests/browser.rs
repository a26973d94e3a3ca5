//! The page in a real browser: the three users' whole jobs, from photo to sheet, with axe on every page in both
//! colour schemes.
//!
//! Ignored by a plain `cargo test`: it needs Debian's Chromium and its driver; `scripts/with-browser` installs them
//! and `scripts/test` runs this. With `PLATEWRIGHT_SCREENSHOTS=FOLDER` pictures of every page are written there
//! (`scripts/screenshots`).

#[path = "common/mod.rs"]
mod common;
#[path = "common/server.rs"]
mod server;

use common::fixture;
use serde_json::json;
use server::Server;
use std::io::Write;
use std::net::{TcpListener, TcpStream};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::sync::Mutex;
use std::time::{Duration, Instant};
use thirtyfour::prelude::*;

const AXE: &str = include_str!("browser_files/axe.min.js");

/// A driver process with one browser.
struct Browser {
    process: Child,
    port: u16,
    driver: WebDriver,
    /// What is wrong with the pages so far, so that every page is looked at before the test fails.
    faults: Mutex<Vec<String>>,
    _profile: tempfile::TempDir,
}

impl Drop for Browser {
    fn drop(&mut self) {
        let _ = self.driver.clone().leak();
        // The driver takes its browser with it when it is asked to end, not when it is killed.
        if let Ok(mut line) = TcpStream::connect(("127.0.0.1", self.port)) {
            let _ = line.write_all(b"GET /shutdown HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n");
            for _ in 0..50 {
                if matches!(self.process.try_wait(), Ok(Some(_))) {
                    return;
                }
                std::thread::sleep(Duration::from_millis(100));
            }
        }
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

impl Browser {
    async fn start() -> Browser {
        let port = TcpListener::bind("127.0.0.1:0")
            .unwrap()
            .local_addr()
            .unwrap()
            .port();
        let process = Command::new("chromedriver")
            .arg(format!("--port={port}"))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("chromedriver is installed; scripts/with-browser does it");
        let profile = tempfile::tempdir().unwrap();
        let mut wanted = DesiredCapabilities::chrome();
        for arg in [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--disable-dev-shm-usage",
        ] {
            wanted.add_arg(arg).unwrap();
        }
        wanted
            .add_arg(&format!("--user-data-dir={}", profile.path().display()))
            .unwrap();
        let address = format!("http://127.0.0.1:{port}");
        let mut tries = 0;
        let driver = loop {
            match WebDriver::new(&address, wanted.clone()).await {
                Ok(driver) => break driver,
                Err(error) if tries > 50 => panic!("no browser: {error}"),
                Err(_) => tries += 1,
            }
            tokio::time::sleep(Duration::from_millis(200)).await;
        };
        Browser {
            process,
            port,
            driver,
            faults: Mutex::default(),
            _profile: profile,
        }
    }

    async fn goto(&self, server: &Server, path: &str) {
        self.driver.goto(server.at(path)).await.unwrap();
    }

    /// The first visible element, as soon as there is one.
    async fn find(&self, css: &str) -> WebElement {
        self.wait_for(css, 200)
            .await
            .unwrap_or_else(|| panic!("{css} did not come"))
    }

    async fn wait_for(&self, css: &str, tenths: usize) -> Option<WebElement> {
        for _ in 0..tenths {
            if let Ok(found) = self.driver.find(By::Css(css)).await {
                return Some(found);
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        None
    }

    async fn click(&self, css: &str) {
        for _ in 0..50 {
            if let Ok(found) = self.driver.find(By::Css(css)).await {
                let _ = found.scroll_into_view().await;
                if found.click().await.is_ok() {
                    return;
                }
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("{css} cannot be clicked");
    }

    /// Presses a key; Escape and Enter as the WebDriver standard numbers them (U+E00C, U+E007).
    async fn key(&self, key: &str) {
        self.driver
            .action_chain()
            .send_keys(key)
            .perform()
            .await
            .unwrap();
    }

    async fn text(&self, css: &str) -> String {
        for _ in 0..50 {
            if let Ok(found) = self.driver.find(By::Css(css)).await
                && let Ok(text) = found.text().await
            {
                return text;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("{css} has no text");
    }

    /// Waits until the page's text has this in it.
    async fn says(&self, part: &str) {
        let mut text = String::new();
        for _ in 0..300 {
            text = self.text("main").await;
            if text.contains(part) {
                return;
            }
            tokio::time::sleep(Duration::from_millis(100)).await;
        }
        panic!("the page does not say {part:?}:\n{text}");
    }

    async fn cdp(&self, command: &str, with: serde_json::Value) {
        self.driver.cdp().send_raw(command, with).await.unwrap();
    }

    async fn width(&self, width: u32) {
        let size =
            json!({"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600});
        self.cdp("Emulation.setDeviceMetricsOverride", size).await;
    }

    async fn scheme(&self, scheme: &str) {
        let media = json!({"features": [{"name": "prefers-color-scheme", "value": scheme}]});
        self.cdp("Emulation.setEmulatedMedia", media).await;
    }

    /// Runs axe over the page in both colour schemes; writes pictures of it where they are wanted. Nothing may
    /// stand beyond the right edge at 360 pixels either.
    async fn inspect(&self, name: &str) {
        let started = Instant::now();
        for scheme in ["light", "dark"] {
            self.scheme(scheme).await;
            self.driver.execute(AXE, vec![]).await.unwrap();
            let script = "const done = arguments[0]; axe.run(document, {resultTypes: ['violations'], runOnly: \
                ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice']}).then((r) => \
                done(r.violations.map((v) => v.id + ': ' + v.nodes.map((n) => n.target + ' ' + n.failureSummary).join(' | '))), \
                (e) => done([String(e)]));";
            let found = self.driver.execute_async(script, vec![]).await.unwrap();
            let found: Vec<String> = found.convert().unwrap();
            let mut faults = self.faults.lock().unwrap();
            faults.extend(found.iter().map(|f| format!("{name}, {scheme}: {f}")));
        }
        for width in [360, 1440] {
            self.width(width).await;
            let beyond = "return document.documentElement.scrollWidth - document.documentElement.clientWidth";
            let beyond: i64 = self
                .driver
                .execute(beyond, vec![])
                .await
                .unwrap()
                .convert()
                .unwrap();
            if beyond > 0 {
                let fault = format!("{name}: {beyond} pixels stand beyond the edge at {width}");
                self.faults.lock().unwrap().push(fault);
            }
            for scheme in ["light", "dark"] {
                self.picture(&format!("{name}-{width}-{scheme}"), width, scheme)
                    .await;
            }
        }
        self.scheme("light").await;
        println!("{name}: looked at in {:.1?}", started.elapsed());
    }

    /// Fails with everything that is wrong with the pages that were looked at.
    fn finish(&self) {
        let faults = self.faults.lock().unwrap();
        assert!(faults.is_empty(), "{}", faults.join("\n"));
    }

    async fn picture(&self, name: &str, width: u32, scheme: &str) {
        let Some(folder) = std::env::var_os("PLATEWRIGHT_SCREENSHOTS").map(PathBuf::from) else {
            return;
        };
        self.scheme(scheme).await;
        let height = "return Math.min(document.documentElement.scrollHeight, 3000)";
        let height: u32 = self
            .driver
            .execute(height, vec![])
            .await
            .unwrap()
            .convert()
            .unwrap();
        let size =
            json!({"width": width, "height": height, "deviceScaleFactor": 1, "mobile": false});
        self.cdp("Emulation.setDeviceMetricsOverride", size).await;
        std::fs::create_dir_all(&folder).unwrap();
        self.driver
            .screenshot(&folder.join(format!("{name}.png")))
            .await
            .unwrap();
        self.width(width).await;
    }

    /// Chooses a photo in a file field.
    async fn choose(&self, css: &str, path: &Path) {
        let input = self.find(css).await;
        input.send_keys(path.display().to_string()).await.unwrap();
    }

    async fn import_stock(&self, server: &Server) {
        self.goto(server, "/stock").await;
        self.choose("#list", &fixture("stock/warehouse.csv")).await;
        self.click("form .main-button").await;
        self.says("would be taken over").await;
        self.inspect("stock-preview").await;
        self.click("button[value=import]").await;
        self.says("holds now").await;
        self.inspect("stock").await;
    }

    /// Answers questions with their first choice until none is left; gives how many there were.
    async fn answer_all(&self) -> usize {
        let mut answered = 0;
        while let Some(choice) = self.wait_for("[data-ask] [data-choice]", 5).await {
            // The page may have become another one since it was found: then it is looked for again.
            let _ = choice.scroll_into_view().await;
            if choice.click().await.is_err() {
                continue;
            }
            answered += 1;
            assert!(answered < 30, "the same is asked again and again");
            // The page is another one as soon as the answer is in.
            for _ in 0..100 {
                if choice.is_displayed().await.is_err() {
                    break;
                }
                tokio::time::sleep(Duration::from_millis(50)).await;
            }
        }
        answered
    }
}

#[tokio::test]
#[ignore = "needs Chromium: scripts/with-browser installs it, scripts/test runs this"]
async fn counter_from_photo_to_printed_sheet() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &[]);
    let browser = Browser::start().await;
    browser.width(1440).await;
    browser.goto(&server, "/").await;
    browser.says("Nothing has come yet").await;
    browser.inspect("queue-empty").await;
    browser.import_stock(&server).await;

    browser.goto(&server, "/").await;
    browser
        .choose(
            "#add-photos",
            &fixture("plates/02-easy-boxed-grid-printed.jpg"),
        )
        .await;
    // The queue changes by itself when the plate is read.
    browser.says("208-230/460").await;
    browser.inspect("queue").await;
    browser.click("[data-item]").await;
    browser.says("All readings").await;
    browser.inspect("confirm").await;
    // A field and its place on the photo light up together, both ways.
    let field = browser.find("li.field[data-field=volts]").await;
    browser
        .driver
        .action_chain()
        .move_to_element_center(&field)
        .perform()
        .await
        .unwrap();
    browser.find("polygon.place.lit[data-field=volts]").await;
    browser.driver.execute("document.querySelector('polygon[data-field=amps]').dispatchEvent(new MouseEvent('click', {bubbles: true}))", vec![]).await.unwrap();
    browser.find("li.field.lit[data-field=amps]").await;
    // A value by hand: what is no value is refused, what is one is kept with its history, and can be undone.
    browser.click("li.field[data-field=rpm] summary").await;
    let input = browser.find("#change-rpm").await;
    input.clear().await.unwrap();
    input.send_keys("fast").await.unwrap();
    browser.click("li.field[data-field=rpm] form button").await;
    for _ in 0..50 {
        if browser.text("#status").await.contains("such as 1725") {
            break;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    assert!(browser.text("#status").await.contains("such as 1725"));
    input.clear().await.unwrap();
    input.send_keys("1755").await.unwrap();
    browser.click("li.field[data-field=rpm] form button").await;
    browser.says("before: 1750 (clear)").await;
    browser.inspect("confirm-said").await;
    browser.click("[data-undo]").await;
    browser.says("taken back").await;

    browser.answer_all().await;
    browser.says("Nothing has to be confirmed").await;
    browser.click("nav [href$=candidates]").await;
    browser.says("Selected by horsepower").await;
    browser.inspect("candidates").await;
    browser.answer_all().await;
    // A drawing to scale where the frames differ, and two motors side by side.
    browser.find("ol.candidates > li").await;
    let boxes = browser
        .driver
        .find_all(By::Css("input[name=line]"))
        .await
        .unwrap();
    for choice in boxes.iter().take(2) {
        choice.scroll_into_view().await.unwrap();
        choice.click().await.unwrap();
    }
    browser.click("form > p .main-button").await;
    browser.says("Criterion").await;
    browser.inspect("compare").await;
    browser.click("nav [href$=sheet]").await;
    browser.says("What the replacement must be").await;
    browser.inspect("sheet").await;
    browser.says("Checked by (licensed person)").await;
    let pdf = "const done = arguments[0]; fetch(document.querySelector('a[href$=pdf]').href).then((r) => r.text()).then((t) => done(t.slice(0, 5)))";
    let pdf: String = browser
        .driver
        .execute_async(pdf, vec![])
        .await
        .unwrap()
        .convert()
        .unwrap();
    assert_eq!(pdf, "%PDF-");
    browser.finish();
}

#[tokio::test]
#[ignore = "needs Chromium: scripts/with-browser installs it, scripts/test runs this"]
async fn technician_pairs_snaps_and_gets_an_answer() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &["--lan"]);
    let phone = Browser::start().await;
    phone.width(360).await;
    phone
        .goto(
            &server,
            &format!("/pair?code={}", server.code.as_deref().unwrap()),
        )
        .await;
    phone.inspect("pair").await;
    phone.width(360).await;
    phone.find("#name").await.send_keys("Kim").await.unwrap();
    phone.click(".main-button").await;
    phone.says("Take a photo").await;
    phone.inspect("snap").await;
    phone.import_stock(&server).await;
    phone.width(360).await;
    phone.goto(&server, "/snap").await;
    // The button is large enough for gloves.
    let button = phone.find("label.camera").await.rect().await.unwrap();
    assert!(
        button.height >= 120.0 && button.width >= 250.0,
        "{button:?}"
    );
    phone
        .choose(
            "#camera",
            &fixture("plates/08-medium-dense-inline-stamped.jpg"),
        )
        .await;
    phone
        .choose(
            "#gallery",
            &fixture("plates/08-medium-dense-inline-stamped.jpg"),
        )
        .await;
    phone.says("Send 2 photos").await;
    phone.click(".previews li:nth-child(2) button").await;
    phone.click("[data-send]").await;
    phone.says("From stock").await;
    phone.inspect("result").await;
    phone.width(360).await;
    let asked = phone
        .driver
        .find_all(By::Css("[data-ask]"))
        .await
        .unwrap()
        .len();
    assert!(asked <= 3, "{asked} questions at a time");
    phone.answer_all().await;
    phone.says("air-over").await;
    phone.find("article.candidate").await;
    phone.goto(&server, "/devices").await;
    phone.says("Kim (this one)").await;
    phone.click("form[action='/devices/code'] button").await;
    phone.says("Scan this with the phone").await;
    phone.inspect("devices").await;
    phone.finish();
}

#[tokio::test]
#[ignore = "needs Chromium: scripts/with-browser installs it, scripts/test runs this"]
async fn digitiser_goes_through_a_queue_by_keys() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::start(folder.path(), &[]);
    let browser = Browser::start().await;
    browser.width(1440).await;
    for (i, name) in [
        "plates/17-hard-free-text-engraved.jpg",
        "plates/01-easy-shell-label-sticker.jpg",
        "bad/no-text.jpg",
    ]
    .iter()
    .enumerate()
    {
        browser.goto(&server, "/").await;
        browser.choose("#add-photos", &fixture(name)).await;
        browser.says(&format!("{} entr", i + 1)).await;
    }
    browser.says("failed").await;
    for _ in 0..300 {
        if !browser.text("main").await.contains("waiting to be read") {
            break;
        }
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    browser.goto(&server, "/?show=failed").await;
    browser.says("no text was found").await;
    browser.inspect("queue-failed").await;
    browser.click("[data-item]").await;
    browser.says("Read it once more").await;
    browser.inspect("failed").await;

    browser.goto(&server, "/?show=asks").await;
    browser.says("question").await;
    browser.key("?").await;
    browser.find("dialog[open]").await;
    browser.inspect("keys").await;
    browser.key("\u{E00C}").await;
    browser.key("j").await;
    browser.key("\u{E007}").await;
    browser.says("To confirm").await;
    browser.inspect("confirm-doubtful").await;
    let before = browser.text("main h2").await;
    browser.key("j").await;
    browser.key("1").await;
    browser.says("What was said").await;
    assert_ne!(browser.text("main h2").await, before);
    browser.key("u").await;
    browser.says("taken back").await;
    for key in ["+", "r", "0"] {
        browser.key(key).await;
    }
    browser.key("c").await;
    browser.says("No stock list was imported yet").await;
    browser.inspect("candidates-no-list").await;
    browser.key("g").await;
    browser.says("3 entries").await;
    let lines =
        "const done = arguments[0]; fetch('/export/motors.jsonl').then((r) => r.text()).then(done)";
    let lines: String = browser
        .driver
        .execute_async(lines, vec![])
        .await
        .unwrap()
        .convert()
        .unwrap();
    assert_eq!(lines.lines().count(), 3, "{lines}");
    browser.goto(&server, "/nothing").await;
    browser.says("no such page").await;
    browser.inspect("error").await;

    // The report of the same store is a file of its own.
    let report = folder.path().join("report.html");
    let written = common::platewright()
        .args(["report", "--store"])
        .args([folder.path(), &report])
        .output()
        .unwrap();
    assert!(written.status.success());
    let address = format!("file://{}", report.display());
    browser.driver.goto(address).await.unwrap();
    browser.says("no text was found").await;
    browser.inspect("report").await;
    browser.finish();
}
