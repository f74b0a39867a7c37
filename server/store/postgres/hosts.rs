//! The hosts of an engine: one takes what is written, its standbys do not, and any of them may be silent.

use std::time::Duration;

use tokio::task::JoinSet;
use tokio::time::sleep;
use tokio_postgres::config::{Host, TargetSessionAttrs};
use tokio_postgres::tls::MakeTlsConnect;
use tokio_postgres::{Client, Config, Connection, Error, Socket};
use tokio_postgres_rustls::MakeRustlsConnect;

use super::place::EngineUrl;
use super::trouble::{Trouble, words};
use crate::limits::ENGINE_CONNECT_WAIT_MAX;

/// How long a host that does not answer is waited for, and how soon it is asked whether it is there.
const ALIVE_AFTER: Duration = Duration::from_secs(5);
const ALIVE_EVERY: Duration = Duration::from_secs(2);
const ALIVE_TIMES: u32 = 3;

/// How soon a host is asked again that refused, while another keeps silent.
const AGAIN_AFTER: Duration = Duration::from_millis(500);

/// A connection as it comes from the engine, sealed or not.
pub(super) type Connected =
    Connection<Socket, <MakeRustlsConnect as MakeTlsConnect<Socket>>::Stream>;

/// A connection to the host that takes what is written. All are asked at once, so that one which keeps silent holds
/// up no other; and while one does, the others are asked again, for one of them may take its place meanwhile.
pub(super) async fn connected(url: &EngineUrl) -> Result<(Client, Connected), Trouble> {
    let mut asked = JoinSet::new();
    let mut said: Vec<Option<String>> = vec![None; url.hosts().len()];
    for (at, host) in url.hosts().iter().enumerate() {
        asked.spawn(ask(at, host.clone(), url.tls(), Duration::ZERO));
    }
    while let Some(answer) = asked.join_next().await {
        let (at, error) = match answer {
            Ok((_, Ok(connected))) => return Ok(connected),
            Ok((at, Err(error))) => (at, words(&error)),
            Err(broke_off) => return Err(Trouble::Unreached(broke_off.to_string())),
        };
        if let Some(slot) = said.get_mut(at) {
            *slot = Some(error);
        }
        if said.iter().any(Option::is_none) {
            if let Some(host) = url.hosts().get(at) {
                asked.spawn(ask(at, host.clone(), url.tls(), AGAIN_AFTER));
            }
        } else {
            break;
        }
    }
    let mut said: Vec<String> = said.into_iter().flatten().collect();
    said.sort();
    said.dedup();
    Err(Trouble::Unreached(said.join("; ")))
}

/// Asks one host after a while.
async fn ask(
    at: usize,
    host: Config,
    tls: MakeRustlsConnect,
    after: Duration,
) -> (usize, Result<(Client, Connected), Error>) {
    sleep(after).await;
    (at, host.connect(tls).await)
}

/// The same for each host alone: one that lets a session begin and then keeps silent holds up nobody who asks the
/// next. The engine sees this name of whoever calls.
pub(super) fn each_host(config: &Config, name: &str) -> Vec<Config> {
    let ports = config.get_ports();
    let hosts = config.get_hosts().iter().enumerate();
    let alone = hosts.map(|(at, host)| {
        let mut alone = Config::new();
        match host {
            Host::Tcp(name) => alone.host(name),
            #[cfg(unix)]
            Host::Unix(folder) => alone.host_path(folder),
        };
        if let Some(ip) = config.get_hostaddrs().get(at) {
            alone.hostaddr(*ip);
        }
        if let Some(port) = ports.get(at).or_else(|| ports.first()) {
            alone.port(*port);
        }
        if let Some(user) = config.get_user() {
            alone.user(user);
        }
        if let Some(password) = config.get_password() {
            alone.password(password);
        }
        if let Some(base) = config.get_dbname() {
            alone.dbname(base);
        }
        if let Some(options) = config.get_options() {
            alone.options(options);
        }
        alone
            .ssl_mode(config.get_ssl_mode())
            .ssl_negotiation(config.get_ssl_negotiation())
            .channel_binding(config.get_channel_binding())
            .application_name(name)
            .connect_timeout(ENGINE_CONNECT_WAIT_MAX)
            .tcp_user_timeout(ALIVE_AFTER + ALIVE_EVERY * ALIVE_TIMES)
            .keepalives(true)
            .keepalives_idle(ALIVE_AFTER)
            .keepalives_interval(ALIVE_EVERY)
            .keepalives_retries(ALIVE_TIMES)
            // A standby takes nothing: of several hosts the one that does is meant.
            .target_session_attrs(TargetSessionAttrs::ReadWrite);
        alone
    });
    alone.collect()
}
