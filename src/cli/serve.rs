//! `platewright serve`: the page, and the reading of what it is sent.

use super::Done;
use super::read::ReadingArgs;
use super::store::{StoreArgs, wait_for};
use crate::store::Versions;
use crate::web::{self, App, Options, ServeError};
use anyhow::Result;
use clap::Args as ClapArgs;
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use std::net::{IpAddr, Ipv4Addr, SocketAddr, UdpSocket};
use tokio::net::TcpListener;

/// Serve the page: photos from phones, a queue to confirm, candidates from stock, the sheet to print.
#[derive(Debug, ClapArgs)]
pub(super) struct Args {
    #[command(flatten)]
    store: StoreArgs,
    /// Port to listen on; 0 takes any that is free.
    #[arg(long, value_name = "N", default_value_t = 8080)]
    port: u16,
    /// Let phones of the local network in, each with a one-time code. Without it only this machine gets in.
    #[arg(long)]
    lan: bool,
    #[command(flatten)]
    reading: ReadingArgs,
}

pub(super) fn run(args: &Args) -> Result<Done> {
    let reader = args.reading.reader()?;
    let versions = Versions::with_models(args.reading.source().version()?);
    wait_for(async {
        let store = args.store.open().await?;
        let everywhere = if args.lan {
            Ipv4Addr::UNSPECIFIED
        } else {
            Ipv4Addr::LOCALHOST
        };
        let address = SocketAddr::new(IpAddr::V4(everywhere), args.port);
        let listener = TcpListener::bind(address)
            .await
            .map_err(|source| ServeError::Listen { address, source })?;
        let port = listener.local_addr()?.port();
        let here = format!("http://127.0.0.1:{port}");
        let there = args.lan.then(|| format!("http://{}:{port}", own_address()));
        let folder = store.folder().display().to_string();
        let options = Options {
            lan: args.lan,
            reading: args.reading.settings(),
            address: there.clone(),
        };
        let app = App::new(store.clone(), reader, versions, options);
        println!("platewright serves the store {folder}");
        match &there {
            None => println!("open {here}/ in a browser on this machine; Ctrl-C ends it"),
            Some(there) => {
                println!("this machine: {here}/pair?code={}", app.pairing_code()?);
                let link = format!("{there}/pair?code={}", app.pairing_code()?);
                println!("first phone:  {link}\n{}", picture(&link)?);
                println!(
                    "each code pairs one device within ten minutes; more codes on the page Devices. Ctrl-C ends it"
                );
            }
        }
        web::serve(app, listener, super::asked_to_stop()).await?;
        store.close().await;
        Ok(Done::Fully)
    })
}

/// The address of this machine in its own network. Nothing is sent: the system only says which way it would go.
fn own_address() -> IpAddr {
    let found = || -> std::io::Result<IpAddr> {
        let socket = UdpSocket::bind((Ipv4Addr::UNSPECIFIED, 0))?;
        // 192.0.2.1 is kept for examples (RFC 5737).
        socket.connect((Ipv4Addr::new(192, 0, 2, 1), 9))?;
        Ok(socket.local_addr()?.ip())
    };
    found().unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST))
}

/// The code to scan, for a terminal.
fn picture(link: &str) -> Result<String> {
    Ok(QrCode::new(link)?
        .render::<Dense1x2>()
        .quiet_zone(true)
        .dark_color(Dense1x2::Light)
        .light_color(Dense1x2::Dark)
        .build())
}
