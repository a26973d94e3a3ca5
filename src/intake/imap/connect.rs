//! The connection to a mail server: TLS with the system's certificates, nothing else unless it was asked for.

use super::{Account, Address};
use async_imap::Client;
use std::fmt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;
use tokio::io::{AsyncRead, AsyncWrite};
use tokio::net::TcpStream;
use tokio_rustls::TlsConnector;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::pem::PemObject;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};

/// What a mail server may take to answer.
const PATIENCE: Duration = Duration::from_secs(60);

/// What is wrong with a mail server, or the way there.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs)] // the messages say it
pub enum MailError {
    #[error("{0}: cannot be reached: {1}")]
    Away(Address, String),
    #[error("{0}: it did not answer for a minute")]
    Silent(Address),
    #[error("{0}: the connection was lost: {1}")]
    Lost(Address, String),
    #[error("{0}: the server does not let the user in: {1}. Check user and password")]
    Login(Address, String),
    #[error("{0}: the server does not open this folder: {1}. Check its name")]
    Folder(Address, String),
    #[error(
        "{0}: its certificate is not trusted: {1}. If it is your own, name it with --certificate"
    )]
    Certificate(Address, String),
    #[error("{path}: no certificates in it that can be used: {1}. Give a PEM file", path = .0.display())]
    CertificateFile(PathBuf, String),
    #[error(
        "the system has no certificates to know mail servers by ({0}); install them (Debian: ca-certificates), or name one with --certificate"
    )]
    NoCertificates(String),
    #[error("the store did not take a mail of {0}: {1}")]
    Store(Address, String),
}

impl MailError {
    /// Whether trying again helps nothing until somebody changes something.
    pub(super) fn is_refusal(&self) -> bool {
        matches!(
            self,
            MailError::Login(..)
                | MailError::Folder(..)
                | MailError::Certificate(..)
                | MailError::CertificateFile(..)
                | MailError::NoCertificates(..)
        )
    }
}

/// A connection, encrypted or not.
pub(super) trait Wire: AsyncRead + AsyncWrite + Unpin + Send + fmt::Debug {}
impl<T: AsyncRead + AsyncWrite + Unpin + Send + fmt::Debug> Wire for T {}

/// Which certificates are trusted.
#[derive(Clone)]
pub(super) struct Trust(TlsConnector);

impl Trust {
    /// The system's certificates, and those of a file.
    pub(super) fn new(more: Option<&Path>) -> Result<Trust, MailError> {
        let mut roots = RootCertStore::empty();
        let system = rustls_native_certs::load_native_certs();
        roots.add_parsable_certificates(system.certs);
        if let Some(path) = more {
            let wrong = |why: String| MailError::CertificateFile(path.to_owned(), why);
            let found = CertificateDer::pem_file_iter(path)
                .and_then(Iterator::collect::<Result<Vec<_>, _>>)
                .map_err(|e| wrong(e.to_string()))?;
            if found.is_empty() {
                return Err(wrong("it is empty".to_owned()));
            }
            for certificate in found {
                roots.add(certificate).map_err(|e| wrong(e.to_string()))?;
            }
        }
        let none = || {
            let why = system.errors.first().map(ToString::to_string);
            MailError::NoCertificates(why.unwrap_or_else(|| "none found".to_owned()))
        };
        if roots.is_empty() {
            return Err(none());
        }
        let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()))
            .with_safe_default_protocol_versions()
            .map_err(|e| MailError::NoCertificates(e.to_string()))?
            .with_root_certificates(roots)
            .with_no_client_auth();
        Ok(Trust(TlsConnector::from(Arc::new(config))))
    }
}

/// A server that has said hello.
pub(super) async fn connect(
    account: &Account,
    trust: &Trust,
) -> Result<Client<Box<dyn Wire>>, MailError> {
    let at = &account.address;
    let away = |why: String| MailError::Away(at.clone(), why);
    let stream = patient(at, TcpStream::connect((at.host.as_str(), at.port)))
        .await?
        .map_err(|e| away(e.to_string()))?;
    let wire: Box<dyn Wire> = if at.tls {
        let name = ServerName::try_from(at.host.clone()).map_err(|e| away(e.to_string()))?;
        let tls = patient(at, trust.0.connect(name, stream)).await?;
        Box::new(tls.map_err(|e| {
            let why = e.to_string();
            match why.contains("certificate") {
                true => MailError::Certificate(at.clone(), why),
                false => away(why),
            }
        })?)
    } else {
        Box::new(stream)
    };
    let mut client = Client::new(wire);
    match patient(at, client.read_response()).await? {
        Ok(Some(_)) => Ok(client),
        Ok(None) => Err(away("it hung up without a word".to_owned())),
        Err(error) => Err(away(error.to_string())),
    }
}

/// Waits for an answer, but not for ever.
pub(super) async fn patient<T>(
    at: &Address,
    answer: impl Future<Output = T>,
) -> Result<T, MailError> {
    tokio::time::timeout(PATIENCE, answer)
        .await
        .map_err(|_| MailError::Silent(at.clone()))
}
