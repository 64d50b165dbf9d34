//! The server: the loopback address alone, one thread, and a bound on everything that a client
//! could draw out.

use std::cell::RefCell;
use std::convert::Infallible;
use std::io;
use std::net::{Ipv4Addr, SocketAddr, TcpListener};
use std::rc::Rc;
use std::sync::Arc;
use std::time::Duration;

use http_body_util::{BodyExt as _, Full, Limited};
use hyper::body::{Bytes, Incoming};
use hyper::header::{
    CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, HeaderValue, REFERRER_POLICY,
    X_CONTENT_TYPE_OPTIONS, X_FRAME_OPTIONS,
};
use hyper::server::conn::http1;
use hyper::service::service_fn;
use hyper::{Method, Request, Response, StatusCode};
use hyper_util::rt::{TokioIo, TokioTimer};
use tokio::sync::Semaphore;
use tokio::task::LocalSet;
use tokio::time::{sleep, timeout};

use crate::answers;
use crate::desk::{Desk, Files};
use crate::guard::Guard;
use crate::shell;
use crate::token::Token;
use crate::watch;

/// How many connections are open at the same time; a browser opens six for a page.
const MOST_CONNECTIONS: usize = 48;
/// The largest body of a request. A field holds a line, a case some hundred of them.
const MOST_BODY: usize = 256 * 1024;
/// The largest head of a request.
const MOST_HEAD: usize = 16 * 1024;
/// How long a client may take to send a head, or may be silent between two.
const HEAD_TIME: Duration = Duration::from_secs(10);
/// How long it may take to send a body.
const BODY_TIME: Duration = Duration::from_secs(10);
/// How long a connection serves before it is asked to close, and how long that may take.
const CONNECTION_TIME: Duration = Duration::from_secs(300);
const CLOSING_TIME: Duration = Duration::from_secs(60);
/// How long a page waits for news before it asks again.
const NEWS_TIME: Duration = Duration::from_secs(25);

/// A page that listens and is not served yet.
pub struct Page {
    listener: TcpListener,
    guard: Guard,
}

/// What all connections share.
struct Shared {
    guard: Guard,
    desk: RefCell<Desk>,
}

type Answer = Response<Full<Bytes>>;

impl Page {
    /// Listens on the loopback address, at this port or at any that is free.
    ///
    /// # Errors
    /// The port is taken, or the system gives no random numbers.
    pub fn bind(port: Option<u16>) -> io::Result<Self> {
        let listener = TcpListener::bind((Ipv4Addr::LOCALHOST, port.unwrap_or(0)))?;
        let port = listener.local_addr()?.port();
        Ok(Self { listener, guard: Guard { token: Token::new()?, port } })
    }

    /// What is opened in a browser; whoever has it can see and change the sheet.
    #[must_use]
    pub fn address(&self) -> String {
        format!("http://127.0.0.1:{}/?token={}", self.guard.port, self.guard.token.as_str())
    }

    /// Serves the page until the program ends.
    ///
    /// # Errors
    /// The socket cannot be used, or the file cannot be read at the start.
    pub fn serve(self, files: Box<dyn Files>) -> io::Result<()> {
        let desk = Desk::new(files).map_err(io::Error::other)?;
        let shared = Rc::new(Shared { guard: self.guard, desk: RefCell::new(desk) });
        let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
        self.listener.set_nonblocking(true)?;
        LocalSet::new().block_on(&runtime, serve(self.listener, shared))
    }
}

async fn serve(listener: TcpListener, shared: Rc<Shared>) -> io::Result<()> {
    let listener = tokio::net::TcpListener::from_std(listener)?;
    let room = Arc::new(Semaphore::new(MOST_CONNECTIONS));
    tokio::task::spawn_local({
        let shared = Rc::clone(&shared);
        async move { watch::watch(&shared.desk).await }
    });
    loop {
        // The semaphore is never closed; without room the next client waits in the queue.
        let Ok(place) = Arc::clone(&room).acquire_owned().await else { return Ok(()) };
        let (stream, from) = match listener.accept().await {
            Ok(accepted) => accepted,
            // Out of file handles, or a client that was gone again: neither is for ever.
            Err(_) => {
                sleep(Duration::from_millis(50)).await;
                continue;
            }
        };
        if !is_local(from) {
            continue;
        }
        let _ = stream.set_nodelay(true);
        let shared = Rc::clone(&shared);
        tokio::task::spawn_local(async move {
            connection(TokioIo::new(stream), shared).await;
            drop(place);
        });
    }
}

fn is_local(from: SocketAddr) -> bool {
    from.ip().is_loopback()
}

async fn connection(stream: TokioIo<tokio::net::TcpStream>, shared: Rc<Shared>) {
    let service = service_fn(move |request| {
        let shared = Rc::clone(&shared);
        async move { Ok::<_, Infallible>(answer(request, &shared).await) }
    });
    let connection = http1::Builder::new()
        .timer(TokioTimer::new())
        .header_read_timeout(HEAD_TIME)
        .max_buf_size(MOST_HEAD)
        .serve_connection(stream, service);
    let mut connection = std::pin::pin!(connection);
    if timeout(CONNECTION_TIME, connection.as_mut()).await.is_err() {
        connection.as_mut().graceful_shutdown();
        // What is not done by then is dropped with the connection.
        let _ = timeout(CLOSING_TIME, connection).await;
    }
}

async fn answer(request: Request<Incoming>, shared: &Shared) -> Answer {
    let (method, uri) = (request.method().clone(), request.uri().clone());
    if let Err((status, words)) = shared.guard.admit(&method, &uri, request.headers()) {
        return plain(status, words);
    }
    match (&method, uri.path()) {
        (&Method::GET, "/") => document(),
        (&Method::GET, "/news") => news(uri.query(), shared).await,
        (&Method::POST, path) => match body(request).await {
            Ok(body) => json(answers::answer(path, &body, &shared.desk)),
            Err(refused) => refused,
        },
        _ => plain(StatusCode::NOT_FOUND, "there is nothing here"),
    }
}

fn document() -> Answer {
    let Ok(nonce) = Token::new() else {
        return plain(StatusCode::INTERNAL_SERVER_ERROR, "the system gives no random numbers");
    };
    let mut answer = whole(StatusCode::OK, "text/html; charset=utf-8", shell::document(&nonce));
    // A nonce is made of letters and digits alone, so that the policy is a sound header.
    if let Ok(policy) = HeaderValue::from_str(&shell::policy(&nonce)) {
        answer.headers_mut().insert(CONTENT_SECURITY_POLICY, policy);
    }
    answer
}

/// Waits until the file is another one than the page knows, or until the time is up.
async fn news(query: Option<&str>, shared: &Shared) -> Answer {
    let known = query.and_then(|query| query.strip_prefix("known=")).and_then(|n| n.parse().ok());
    let (now, bell) = {
        let desk = shared.desk.borrow();
        (desk.version(), desk.bell())
    };
    if Some(now) == known {
        // Made before anything is awaited, so that no ringing is missed.
        let _ = timeout(NEWS_TIME, bell.notified()).await;
    }
    json((StatusCode::OK, shared.desk.borrow().news()))
}

async fn body(request: Request<Incoming>) -> Result<Bytes, Answer> {
    let json = request.headers().get(CONTENT_TYPE).is_some_and(|kind| kind == "application/json");
    if !json {
        return Err(plain(StatusCode::UNSUPPORTED_MEDIA_TYPE, "JSON is expected"));
    }
    match timeout(BODY_TIME, Limited::new(request.into_body(), MOST_BODY).collect()).await {
        Ok(Ok(body)) => Ok(body.to_bytes()),
        Ok(Err(_)) => Err(plain(StatusCode::PAYLOAD_TOO_LARGE, "the request is too large")),
        Err(_) => Err(plain(StatusCode::REQUEST_TIMEOUT, "the request took too long")),
    }
}

fn json((status, document): (StatusCode, serde_json::Value)) -> Answer {
    whole(status, "application/json", document.to_string())
}

fn plain(status: StatusCode, words: &str) -> Answer {
    whole(status, "text/plain; charset=utf-8", format!("{words}\n"))
}

/// An answer with the headers that every one bears; a document has its own policy besides.
fn whole(status: StatusCode, kind: &'static str, text: String) -> Answer {
    let mut answer = Response::new(Full::new(Bytes::from(text)));
    *answer.status_mut() = status;
    let headers = answer.headers_mut();
    headers.insert(CONTENT_TYPE, HeaderValue::from_static(kind));
    headers.insert(CACHE_CONTROL, HeaderValue::from_static("no-store"));
    headers.insert(X_CONTENT_TYPE_OPTIONS, HeaderValue::from_static("nosniff"));
    headers.insert(X_FRAME_OPTIONS, HeaderValue::from_static("DENY"));
    headers.insert(REFERRER_POLICY, HeaderValue::from_static("no-referrer"));
    headers.insert("cross-origin-opener-policy", HeaderValue::from_static("same-origin"));
    headers.insert("cross-origin-resource-policy", HeaderValue::from_static("same-origin"));
    headers.insert(
        CONTENT_SECURITY_POLICY,
        HeaderValue::from_static("default-src 'none'; frame-ancestors 'none'"),
    );
    answer
}
