//! Opening the port, and closing it in good order.

use crate::app::{App, Options};
use qrcode::QrCode;
use qrcode::render::unicode::Dense1x2;
use std::fmt;
use std::io;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::time::{Duration, SystemTime, UNIX_EPOCH};
use tokio::net::TcpListener;

/// How long answers that are under way may take once the page is being closed.
const CLOSES_IN: Duration = Duration::from_secs(5);

/// Why the page could not be started.
#[derive(Debug)]
pub enum StartError {
    /// The port could not be opened.
    Port {
        /// The address that was tried.
        address: SocketAddr,
        /// Why.
        why: io::Error,
    },
    /// The system gave no threads, or the socket failed.
    System(io::Error),
}

impl StartError {
    /// What to do about it.
    #[must_use]
    pub fn remedy(&self) -> String {
        match self {
            Self::Port { why, .. } if why.kind() == io::ErrorKind::AddrInUse => {
                "another program has this port, perhaps platewright itself: open its page, or name another with --port"
                    .to_owned()
            }
            Self::Port { why, .. } if why.kind() == io::ErrorKind::PermissionDenied => {
                "name a port above 1023 with --port".to_owned()
            }
            Self::Port { .. } => "name an address of this computer with --listen".to_owned(),
            Self::System(_) => "close other programs and try again".to_owned(),
        }
    }
}

impl fmt::Display for StartError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Port { address, why } => write!(f, "failed to open {address}: {why}"),
            Self::System(why) => write!(f, "failed to run the page: {why}"),
        }
    }
}

impl std::error::Error for StartError {}

/// Where the page can be reached.
#[derive(Clone, Debug)]
pub struct Listening {
    /// Address in a browser.
    pub address: String,
    /// The same as a square code, two rows of it in each line of text: dark on light, for a phone's camera.
    pub square: Option<String>,
}

/// Serves the page at `address` until the process is told to end (by Ctrl-C or a request to terminate); answers under way
/// are finished. `tell` hears where once the port is open.
///
/// # Errors
/// If the port cannot be opened or the system fails.
pub fn serve(options: Options, address: SocketAddr, tell: impl FnOnce(Listening)) -> Result<(), StartError> {
    let runtime =
        tokio::runtime::Builder::new_multi_thread().enable_all().build().map_err(StartError::System)?;
    let app = App::new(options, Arc::new(now_ms));
    let served = runtime.block_on(async {
        let port = TcpListener::bind(address).await.map_err(|why| StartError::Port { address, why })?;
        let bound = port.local_addr().map_err(StartError::System)?;
        tell(listening(bound));
        let service = crate::app(Arc::clone(&app)).into_make_service_with_connect_info::<SocketAddr>();
        let (ended, end) = tokio::sync::oneshot::channel();
        let served = axum::serve(port, service).with_graceful_shutdown(async move {
            told_to_end().await;
            // What is being worked out is called off, and whoever waits for it is let go.
            app.works.close();
            let _ = ended.send(());
        });
        tokio::select! {
            served = served => served.map_err(StartError::System),
            () = async { let _ = end.await; tokio::time::sleep(CLOSES_IN).await } => Ok(()),
        }
    });
    // Work under way writes whole events or none, so nothing has to be waited for.
    runtime.shutdown_timeout(CLOSES_IN);
    served
}

fn now_ms() -> i64 {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    i64::try_from(since.as_millis()).unwrap_or(i64::MAX)
}

async fn told_to_end() {
    let interrupted = async {
        let _ = tokio::signal::ctrl_c().await;
    };
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminated) = signal(SignalKind::terminate()) {
            tokio::select! {
                () = interrupted => {}
                _ = terminated.recv() => {}
            }
            return;
        }
    }
    interrupted.await;
}

fn listening(bound: SocketAddr) -> Listening {
    let shown = if bound.ip().is_unspecified() { own_address(bound) } else { bound };
    let address = format!("http://{shown}/");
    let square = (!shown.ip().is_loopback()).then(|| square(&address)).flatten();
    Listening { address, square }
}

/// The address at which other machines of the network see this one, where the page listens at all of them.
fn own_address(bound: SocketAddr) -> SocketAddr {
    // Nothing is sent: connecting a datagram socket only makes the system choose the way out. The address is one that
    // is kept for documentation (RFC 5737).
    let chosen = std::net::UdpSocket::bind("0.0.0.0:0").and_then(|socket| {
        socket.connect("192.0.2.1:9")?;
        socket.local_addr()
    });
    let ip = chosen.map_or(IpAddr::from([127, 0, 0, 1]), |own| own.ip());
    SocketAddr::new(ip, bound.port())
}

fn square(address: &str) -> Option<String> {
    let code = QrCode::new(address.as_bytes()).ok()?;
    // On a dark terminal, as most are, what is painted is light: the light squares, and the rim around all that a camera
    // needs. The library's own names are those of dark paper.
    Some(code.render::<Dense1x2>().dark_color(Dense1x2::Light).light_color(Dense1x2::Dark).build())
}

#[cfg(test)]
mod tests {
    use super::square;

    /// The rim of four squares (ISO/IEC 18004) is painted, and so light on a dark terminal; the corner marks' outer ring
    /// is not.
    #[test]
    fn the_square_code_is_dark_on_light() {
        let square = square("http://192.0.2.2:8077/").unwrap();
        let lines: Vec<&str> = square.lines().collect();
        assert!(lines[0].chars().all(|c| c == '\u{2588}') && lines[1] == lines[0], "{square}");
        let ring: String = lines[2].chars().skip(4).take(7).collect();
        assert_eq!(ring, " \u{2584}\u{2584}\u{2584}\u{2584}\u{2584} ", "{square}");
    }
}
