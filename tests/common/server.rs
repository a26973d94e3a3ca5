//! A server under test: the real command on a store of its own.

#![allow(dead_code)] // each test file uses its part

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};

/// A running `platewright serve`; it ends with this value.
pub struct Server {
    child: Child,
    /// Its address on this machine, such as `http://127.0.0.1:41234`.
    pub address: String,
    /// The code that pairs the first device, with `--lan`.
    pub code: Option<String>,
}

impl Server {
    /// Starts it on a free port.
    pub fn start(store: &Path, more: &[&str]) -> Server {
        Server::run(Command::new(env!("CARGO_BIN_EXE_platewright")), store, more)
    }

    /// Starts it by a command of its own.
    pub fn run(mut command: Command, store: &Path, more: &[&str]) -> Server {
        // Clients and browser drivers of the tests want a provider of TLS, even for plain HTTP.
        let _ = rustls::crypto::ring::default_provider().install_default();
        let mut child = command
            .args(["serve", "--port", "0", "--store"])
            .arg(store)
            .args(more)
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let out = child.stdout.take().expect("it has an output");
        let mut lines = BufReader::new(out).lines();
        let line = loop {
            let line = lines.next().expect("it says where it is").unwrap();
            if line.contains("http://127.0.0.1:") {
                break line;
            }
        };
        // Whatever it says later must not fill the pipe.
        std::thread::spawn(move || lines.for_each(drop));
        let at = line.find("http://").expect("an address");
        let rest = &line[at..];
        let end = rest["http://".len()..]
            .find('/')
            .map(|i| i + "http://".len());
        let address = rest[..end.expect("a path")].to_owned();
        let code = rest
            .split_once("code=")
            .map(|(_, c)| c.split_whitespace().next().unwrap_or_default().to_owned());
        Server {
            child,
            address,
            code,
        }
    }

    /// Its process.
    pub fn id(&self) -> u32 {
        self.child.id()
    }

    /// The address of a page.
    pub fn at(&self, path: &str) -> String {
        format!("{}{path}", self.address)
    }

    /// Ends it as a loss of power would.
    pub fn kill(mut self) {
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

impl Drop for Server {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

/// A JPEG with a comment in it: the same picture with another hash.
pub fn with_comment(jpeg: &[u8], comment: &str) -> Vec<u8> {
    assert_eq!(&jpeg[..2], b"\xFF\xD8");
    let mut bytes = jpeg[..2].to_vec();
    bytes.extend([0xFF, 0xFE]);
    bytes.extend(u16::try_from(comment.len() + 2).unwrap().to_be_bytes());
    bytes.extend(comment.as_bytes());
    bytes.extend(&jpeg[2..]);
    bytes
}
