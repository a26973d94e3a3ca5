//! Files that mean harm to memory: pixels that are claimed or packed, archives in archives, workbooks that unpack to
//! far more than they are, files with nothing in them and no end. The system holds the command to its ceiling
//! (`ulimit -d`: private memory that may be written, setrlimit(2)), and what it took at most is printed.

use super::server::Server;
use super::*;
use image::{ExtendedColorType, ImageEncoder};
use reqwest::header::{ACCEPT, HeaderMap};
use reqwest::multipart::{Form, Part};
use reqwest::{Client, Response, StatusCode};
use std::io::{Cursor, Write};
use std::process::Stdio;
use std::time::Duration;
use zip::write::SimpleFileOptions;

/// What `batch` and `serve` stay below, MiB; `docs/trust.md` and the README state it.
const CEILING: u64 = 3072;

/// The command held to the ceiling.
fn held() -> Command {
    behind(&format!("ulimit -d {}", CEILING << 10))
}

/// The most memory that a process had so far, MiB (VmHWM, proc(5)).
fn peak(process: u32) -> Option<u64> {
    let status = fs::read_to_string(format!("/proc/{process}/status")).ok()?;
    let line = status.lines().find(|l| l.starts_with("VmHWM:"))?;
    Some(line.split_whitespace().nth(1)?.parse::<u64>().ok()? >> 10)
}

/// A PNG of one colour: a hundred thousand pixels in a few hundred bytes.
fn blank(width: u32, height: u32, colour: ExtendedColorType) -> Vec<u8> {
    let mut bytes = Vec::new();
    let bytes_of_pixel = usize::from(colour.bits_per_pixel()) / 8;
    let pixels = vec![0; width as usize * height as usize * bytes_of_pixel];
    image::codecs::png::PngEncoder::new(&mut bytes)
        .write_image(&pixels, width, height, colour)
        .unwrap();
    bytes
}

fn zip(files: impl IntoIterator<Item = (String, Vec<u8>)>) -> Vec<u8> {
    let mut archive = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for (name, bytes) in files {
        archive
            .start_file(name, SimpleFileOptions::default())
            .unwrap();
        archive.write_all(&bytes).unwrap();
    }
    archive.finish().unwrap().into_inner()
}

/// A file that claims to be so long and takes no room on the disk.
fn hole(path: &Path, head: &[u8], mebibytes: u64) {
    let mut file = fs::File::create(path).unwrap();
    file.write_all(head).unwrap();
    file.set_len(mebibytes << 20).unwrap();
}

/// A workbook in which a part unpacks to so many MiB of blanks.
fn swollen(part: &str, mebibytes: usize) -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    book.add_worksheet().write_string(0, 0, "sku").unwrap();
    let bytes = book.save_to_buffer().unwrap();
    let mut archive = zip::ZipArchive::new(Cursor::new(bytes)).unwrap();
    let parts: Vec<(String, Vec<u8>)> = (0..archive.len())
        .map(|i| {
            let mut file = archive.by_index(i).unwrap();
            let name = file.name().to_owned();
            let mut bytes = Vec::new();
            std::io::copy(&mut file, &mut bytes).unwrap();
            if name == part {
                let end = bytes.iter().rposition(|b| *b == b'<').unwrap();
                let tail = bytes.split_off(end);
                bytes.resize(bytes.len() + (mebibytes << 20), b' ');
                bytes.extend(tail);
            }
            (name, bytes)
        })
        .collect();
    zip(parts)
}

#[test]
fn batch_stays_below_its_ceiling_whatever_lies_in_the_folder() {
    let folder = tempfile::tempdir().unwrap();
    let source = log(folder.path(), 1);
    let put = |name: &str, bytes: Vec<u8>| fs::write(source.join(name), bytes).unwrap();
    // As many pixels as are allowed, twice, and in the depth that takes the most.
    put("grey.png", blank(8_900, 8_900, ExtendedColorType::L8));
    put("grey-too.png", blank(8_000, 9_900, ExtendedColorType::L8));
    put("deep.png", blank(7_200, 7_200, ExtendedColorType::Rgba16));
    // More than are allowed, really there.
    put("large.png", blank(10_000, 9_000, ExtendedColorType::L8));
    // As narrow as a hair.
    put("narrow.png", blank(1, 2_000_000, ExtendedColorType::L8));
    put("flat.png", blank(2_000_000, 1, ExtendedColorType::L8));
    // A hundred archives in each other, and one with more names than anybody has photos.
    let nested = (0..100).fold(vec![0; 9], |inner, _| zip([("in.zip".to_owned(), inner)]));
    put("nested.zip", nested);
    put(
        "names.zip",
        zip((0..250_000).map(|i| (format!("{i}.jpg"), Vec::new()))),
    );
    // A quarter of a gigabyte of nothing in a photo's clothes, in a few pieces.
    let mut nothing = b"\xFF\xD8\xFF\xE0".to_vec();
    nothing.resize(60 << 20, 0);
    put(
        "bomb.zip",
        zip((0..4).map(|i| (format!("{i}.jpg"), nothing.clone()))),
    );
    // No end in sight.
    hole(&source.join("hole.jpg"), b"\xFF\xD8\xFF\xE0", 4096);
    hole(&source.join("hole.zip"), b"PK\x03\x04", 4096);
    hole(
        &source.join("hole.eml"),
        b"From: kim@example.org\r\n\r\n",
        4096,
    );

    let store = folder.path().join("store");
    let mut child = held()
        .args(["batch", "--fast", "--json", "--jobs", "2", "--store"])
        .args([&store, &source])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut most = 0;
    let status = loop {
        most = peak(child.id()).unwrap_or(most).max(most);
        if let Some(status) = child.try_wait().unwrap() {
            break status;
        }
        std::thread::sleep(Duration::from_millis(20));
    };
    let output = child.wait_with_output().unwrap();
    println!("batch took at most {most} MiB");
    assert_eq!(status.code(), Some(1), "{}", said(&output));
    assert!(most < CEILING, "{most} MiB");
    // The one plate among them was read.
    let read: Vec<Value> = exported(&store)
        .into_iter()
        .filter(|line| line["fields"].is_object())
        .collect();
    assert_eq!(read.len(), 1, "{read:?}");
    assert_eq!(summary(&output)["waiting"], 0);
    health(&store);
}

/// A browser that has the token of its forms.
#[derive(Clone)]
pub(super) struct Browser {
    client: Client,
    address: String,
    csrf: String,
}

impl Browser {
    pub(super) async fn new(server: &Server) -> Browser {
        let mut headers = HeaderMap::new();
        headers.insert(ACCEPT, "text/html".parse().unwrap());
        let client = Client::builder()
            .cookie_store(true)
            .default_headers(headers)
            .redirect(reqwest::redirect::Policy::none())
            // The server hangs up on who sends too much; a connection that it is about to close is not used again.
            .pool_max_idle_per_host(0)
            .build()
            .unwrap();
        let mut browser = Browser {
            client,
            address: server.address.clone(),
            csrf: String::new(),
        };
        let page = browser.page("/snap").await;
        let (_, rest) = page.split_once("name=\"csrf\" value=\"").unwrap();
        browser.csrf = rest[..rest.find('"').unwrap()].to_owned();
        browser
    }

    async fn get(&self, path: &str) -> Response {
        let address = format!("{}{path}", self.address);
        self.client.get(address).send().await.unwrap()
    }

    pub(super) async fn page(&self, path: &str) -> String {
        self.get(path).await.text().await.unwrap()
    }

    pub(super) async fn send(
        &self,
        path: &str,
        field: &'static str,
        files: Vec<Vec<u8>>,
    ) -> Response {
        let mut form = Form::new().text("csrf", self.csrf.clone());
        for bytes in files {
            form = form.part(field, Part::bytes(bytes).file_name("file"));
        }
        let address = format!("{}{path}", self.address);
        self.client
            .post(address)
            .multipart(form)
            .send()
            .await
            .unwrap()
    }
}

/// All of them at the same time.
async fn all<T: Send + 'static>(work: Vec<impl Future<Output = T> + Send + 'static>) -> Vec<T> {
    let started: Vec<_> = work.into_iter().map(tokio::spawn).collect();
    let mut done = Vec::new();
    for work in started {
        done.push(work.await.unwrap());
    }
    done
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn serve_stays_below_its_ceiling_whatever_is_sent() {
    let folder = tempfile::tempdir().unwrap();
    let server = Server::run(held(), folder.path(), &["--fast"]);
    let browser = Browser::new(&server).await;
    // Four phones at a time, with the largest pictures that are allowed.
    let grey = blank(8_900, 8_900, ExtendedColorType::L8);
    let deep = blank(7_200, 7_200, ExtendedColorType::Rgba16);
    let phone = |number: u8| {
        let browser = browser.clone();
        let files = vec![[grey.as_slice(), &[number]].concat(), deep.clone()];
        async move { browser.send("/upload", "photo", files).await.status() }
    };
    let answers = all((0..4).map(phone).collect()).await;
    assert!(
        answers.iter().all(|s| *s == StatusCode::SEE_OTHER),
        "{answers:?}"
    );
    // Their pictures for the page, all at once.
    let queue = browser.page("/").await;
    let thumbs = queue
        .split("src=\"")
        .skip(1)
        .map(|part| part.split('"').next().unwrap());
    let views: Vec<String> = thumbs
        .filter(|path| path.starts_with("/photo/"))
        .map(|path| path.replace("thumb", "view"))
        .collect();
    assert_eq!(views.len(), 4);
    let view = |path: String| {
        let browser = browser.clone();
        async move { browser.get(&path).await.status() }
    };
    let answers = all(views.into_iter().map(view).collect()).await;
    assert!(answers.iter().all(|s| *s == StatusCode::OK), "{answers:?}");
    // Workbooks that swell, a photo that is too large, a form without end.
    for part in ["xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"] {
        let answer = browser
            .send("/stock/preview", "list", vec![swollen(part, 400)])
            .await;
        assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY, "{part}");
        let text = answer.text().await.unwrap();
        assert!(text.contains("unpacks to more than"), "{text}");
    }
    let answer = browser
        .send("/upload", "photo", vec![vec![b'x'; 70 << 20]])
        .await;
    assert_eq!(answer.status(), StatusCode::UNPROCESSABLE_ENTITY);
    assert!(
        answer
            .text()
            .await
            .unwrap()
            .contains("is larger than 64 MiB")
    );
    let answer = browser
        .client
        .post(server.at("/entry/x/answer"))
        .header("content-type", "application/x-www-form-urlencoded")
        .body(format!(
            "csrf={}&key=amps&printed={}",
            browser.csrf,
            "9".repeat(1 << 20)
        ))
        .send()
        .await
        .unwrap();
    assert_eq!(answer.status(), StatusCode::PAYLOAD_TOO_LARGE);
    // It is alive, and nothing waits any more.
    for _ in 0..600 {
        let page = browser.page("/").await;
        if !page.contains("waiting to be read") && !page.contains("being read") {
            break;
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
    let most = peak(server.id()).expect("it lives");
    println!("serve took at most {most} MiB");
    assert!(most < CEILING, "{most} MiB");
    assert_eq!(browser.get("/").await.status(), StatusCode::OK);
}
