//! An object store that speaks S3, as `s3://bucket/folder`. Keys, region and end point come from the environment, by the
//! names that all tools for S3 use (`AWS_ACCESS_KEY_ID`, `AWS_SECRET_ACCESS_KEY`, `AWS_REGION`, `AWS_ENDPOINT_URL`).

use super::StoreError;
use super::files::Files;
use object_store::aws::AmazonS3Builder;
use object_store::{ClientOptions, ObjectStore, RetryConfig};
use std::sync::Arc;
use std::time::Duration;

/// After so long a request has failed; whoever works then waits and tries again by its own rules.
const PATIENCE: Duration = Duration::from_secs(30);

/// The files under two names in one object store: photos and stock lists.
pub(super) fn open(url: &str) -> Result<(Files, Files), StoreError> {
    // Of the providers that TLS may be done with, this program takes one; set before, it stays.
    let _ = rustls::crypto::ring::default_provider().install_default();
    let retries = RetryConfig {
        max_retries: 5,
        retry_timeout: PATIENCE,
        ..RetryConfig::default()
    };
    let options = ClientOptions::new()
        .with_timeout(PATIENCE)
        .with_connect_timeout(Duration::from_secs(5))
        .with_allow_http(plain());
    let bucket = AmazonS3Builder::from_env()
        .with_url(url)
        .with_retry(retries)
        .with_client_options(options)
        .build()
        .map_err(|source| StoreError::objects(url, source))?;
    let bucket: Arc<dyn ObjectStore> = Arc::new(bucket);
    let under = url
        .trim_start_matches("s3://")
        .split_once('/')
        .map_or("", |(_, folder)| folder.trim_matches('/'));
    let files = |name: &str| {
        let prefix = [under, name].join("/");
        let place = format!("{}/{name}", url.trim_end_matches('/'));
        Files::in_objects(bucket.clone(), prefix.trim_matches('/').to_owned(), place)
    };
    Ok((files("photos"), files("stock")))
}

/// Whether the end point that was given is spoken to without TLS: one in the own network, by its address.
fn plain() -> bool {
    ["AWS_ENDPOINT_URL_S3", "AWS_ENDPOINT_URL", "AWS_ENDPOINT"]
        .into_iter()
        .filter_map(|name| std::env::var(name).ok())
        .any(|end_point| end_point.starts_with("http://"))
}
