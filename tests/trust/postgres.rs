//! PostgreSQL goes away in the middle and comes back: who sends a photo meanwhile is told, nothing that was taken is
//! lost, and nobody has to start anything again.

use super::memory::Browser;
use super::server::{Server, with_comment};
use super::*;
use reqwest::StatusCode;
use std::sync::Arc;
use std::time::{Duration, Instant};
use tokio::net::{UnixListener, UnixStream};
use tokio::task::JoinHandle;

/// A line to the server that can be cut.
struct Line {
    server: Arc<PathBuf>,
    here: PathBuf,
    listening: Option<JoinHandle<()>>,
}

const SOCKET: &str = ".s.PGSQL.5432";

impl Line {
    fn new(server: &Path, here: &Path) -> Line {
        let mut line = Line {
            server: Arc::new(server.join(SOCKET)),
            here: here.join(SOCKET),
            listening: None,
        };
        line.mend();
        line
    }

    fn mend(&mut self) {
        let listener = UnixListener::bind(&self.here).unwrap();
        let server = self.server.clone();
        self.listening = Some(tokio::spawn(async move {
            // Who holds the set holds all connections: they are cut with it.
            let mut connections = tokio::task::JoinSet::new();
            while let Ok((mut near, _)) = listener.accept().await {
                let server = server.clone();
                connections.spawn(async move {
                    if let Ok(mut far) = UnixStream::connect(server.as_path()).await {
                        let _ = tokio::io::copy_bidirectional(&mut near, &mut far).await;
                    }
                });
            }
        }));
    }

    async fn cut(&mut self) {
        if let Some(listening) = self.listening.take() {
            listening.abort();
            let _ = listening.await;
        }
        fs::remove_file(&self.here).unwrap();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
#[ignore = "needs PostgreSQL: scripts/test starts one and runs this"]
async fn postgresql_goes_away_and_comes_back() {
    let url =
        std::env::var("PLATEWRIGHT_TEST_DATABASE").expect("scripts/test names a PostgreSQL server");
    let (_, sockets) = url
        .split_once("host=")
        .expect("its sockets lie in a folder");
    let folder = tempfile::tempdir().unwrap();
    let mut line = Line::new(Path::new(sockets), folder.path());
    let name = format!("away_{}", std::process::id());
    let pool = sqlx::PgPool::connect(&url).await.unwrap();
    sqlx::query(sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}")))
        .execute(&pool)
        .await
        .unwrap();
    let database = format!(
        "postgres://test@localhost/{name}?host={}",
        folder.path().display()
    );
    let store = folder.path().join("store");
    let server = Server::start(&store, &["--fast", "--database", &database]);
    let browser = Browser::new(&server).await;
    let jpeg = fs::read(fixture("plates/02-easy-boxed-grid-printed.jpg")).unwrap();
    let photo = |name: &str| vec![with_comment(&jpeg, name)];
    let sent = browser.send("/upload", "photo", photo("before")).await;
    assert_eq!(sent.status(), StatusCode::SEE_OTHER);
    line.cut().await;

    // The page answers and says what is wrong; so does a run beside it, and neither waits for ever.
    let started = Instant::now();
    let sent = browser.send("/upload", "photo", photo("meanwhile")).await;
    assert_eq!(sent.status(), StatusCode::INTERNAL_SERVER_ERROR);
    let text = sent.text().await.unwrap();
    assert!(text.contains("database"), "{text}");
    let source = log(folder.path(), 1);
    let output = platewright()
        .args(["batch", "--fast", "--database", &database, "--store"])
        .arg(&store)
        .arg(&source)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(
        said(&output).contains("cannot be opened"),
        "{}",
        said(&output)
    );
    assert!(
        started.elapsed() < Duration::from_secs(60),
        "{:?}",
        started.elapsed()
    );

    line.mend();
    let sent = browser.send("/upload", "photo", photo("meanwhile")).await;
    assert_eq!(sent.status(), StatusCode::SEE_OTHER);
    let lines = async || browser.page("/export/motors.jsonl").await.lines().count();
    for _ in 0..600 {
        if lines().await == 2 {
            break;
        }
        tokio::time::sleep(Duration::from_millis(200)).await;
    }
    assert_eq!(lines().await, 2, "both photos are read");
    drop(server);
    let check = ["check-store", "--database", &database, "--store"];
    done(platewright().args(check).arg(&store));
}
