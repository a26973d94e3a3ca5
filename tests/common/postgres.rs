//! Databases on the PostgreSQL server of the tests.

#![allow(dead_code)] // each test file uses its part

/// The server that `scripts/with-postgres` started.
pub fn server() -> String {
    std::env::var("PLATEWRIGHT_TEST_DATABASE")
        .expect("PLATEWRIGHT_TEST_DATABASE names a PostgreSQL server; scripts/test starts one")
}

/// Makes an empty database on the server and gives its address.
pub async fn fresh_database(url: &str, name: &str) -> String {
    let server = sqlx::PgPool::connect(url).await.unwrap();
    let name = format!("{name:.40}_{}", std::process::id());
    sqlx::query(sqlx::AssertSqlSafe(format!("CREATE DATABASE {name}")))
        .execute(&server)
        .await
        .unwrap();
    let (address, options) = url.split_once('?').unwrap_or((url, ""));
    let (host, _) = address.rsplit_once('/').unwrap();
    format!("{host}/{name}?{options}")
}
