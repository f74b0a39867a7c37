//! Connections to the service over real TLS, from whatever address of this machine.

use std::io;
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::sync::Arc;

use fettlebook_server::access::SERVICE_NAME;
use tokio::net::{TcpSocket, TcpStream};
use tokio_rustls::TlsConnector;
use tokio_rustls::client::TlsStream;
use tokio_rustls::rustls::crypto::ring;
use tokio_rustls::rustls::pki_types::{CertificateDer, ServerName};
use tokio_rustls::rustls::{ClientConfig, RootCertStore};

/// The way to a service.
#[derive(Clone)]
pub(crate) struct Way {
    address: SocketAddr,
    config: ClientConfig,
}

impl Way {
    /// The way to an address where this certificate is trusted alone.
    pub(crate) fn new(address: SocketAddr, root: CertificateDer<'static>) -> Self {
        let mut roots = RootCertStore::empty();
        roots.add(root).unwrap();
        let config = ClientConfig::builder_with_provider(Arc::new(ring::default_provider()));
        let config = config.with_safe_default_protocol_versions().unwrap();
        let config = config.with_root_certificates(roots).with_no_client_auth();
        Self { address, config }
    }

    /// A sealed connection from an address of this machine. Source: RFC 1122, section 3.2.1.3: all of
    /// 127.0.0.0/8 is this machine.
    pub(crate) async fn dial(&self, from: Ipv4Addr) -> io::Result<TlsStream<TcpStream>> {
        self.dial_for(from, b"h2").await
    }

    /// The same on which this protocol is spoken.
    pub(crate) async fn dial_for(
        &self,
        from: Ipv4Addr,
        protocol: &[u8],
    ) -> io::Result<TlsStream<TcpStream>> {
        let socket = TcpSocket::new_v4()?;
        socket.bind(SocketAddr::new(IpAddr::V4(from), 0))?;
        let tcp = socket.connect(self.address).await?;
        tcp.set_nodelay(true)?;
        let name = ServerName::try_from(SERVICE_NAME).unwrap();
        let mut config = self.config.clone();
        config.alpn_protocols = vec![protocol.to_vec()];
        TlsConnector::from(Arc::new(config))
            .connect(name, tcp)
            .await
    }
}
