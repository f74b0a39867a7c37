//! Codes, certificates and files that are not what they should be: refused in words, nothing let out.

use std::fs;
use std::time::Duration;

use fettlebook_fuzz::run;
use rcgen::{CertificateParams, date_time_ymd};
use tokio::io::AsyncWriteExt as _;
use tokio::net::TcpListener;

use super::code::{address, parse};
use super::folder::{self, Paired};
use super::target::{Address, Target};
use super::trust::Pin;
use super::wire::Wire;
use crate::exit::Exit;
use crate::testing::{Shop, wait};

const FINGERPRINT: &str = "AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA";
const SECRET: &str = "ABCDEFGHIJKLMNOP";

#[test]
fn a_code_is_read_however_it_was_copied() {
    let code = format!("FETTLE:BENCH.LOCAL:7420/{FINGERPRINT}/{SECRET}");
    let read = parse(&code).unwrap();
    assert_eq!((read.host.as_str(), read.port), ("bench.local", 7420));
    assert_eq!((read.fingerprint, read.secret.as_str()), ([0; 32], SECRET));
    let by_hand = format!(
        "fettle:bench.local:7420/\n {}/ {}",
        FINGERPRINT.to_lowercase(),
        "abcd efgh ijkl mnop"
    );
    assert_eq!(parse(&by_hand).unwrap(), read);
    let six = parse(&format!("FETTLE:[2001:DB8::7]:7420/{FINGERPRINT}/{SECRET}")).unwrap();
    assert_eq!(six.host, "2001:db8::7");
    assert_eq!(address(&six.host, six.port), "[2001:db8::7]:7420");
}

#[test]
fn each_part_of_a_code_that_is_wrong_is_named() {
    let cases = [
        (String::new(), "begins with FETTLE:"),
        (
            format!("TELLER:h:1/{FINGERPRINT}/{SECRET}"),
            "begins with FETTLE:",
        ),
        (format!("FETTLE:h:1/{FINGERPRINT}"), "three parts"),
        (format!("FETTLE:h:1/{FINGERPRINT}/{SECRET}/"), "three parts"),
        (format!("FETTLE:h/{FINGERPRINT}/{SECRET}"), "not HOST:PORT"),
        (format!("FETTLE::1/{FINGERPRINT}/{SECRET}"), "not HOST:PORT"),
        (
            format!("FETTLE:h:0/{FINGERPRINT}/{SECRET}"),
            "not HOST:PORT",
        ),
        (
            format!("FETTLE:h:70000/{FINGERPRINT}/{SECRET}"),
            "not HOST:PORT",
        ),
        (
            format!("FETTLE:2001:DB8::7:1/{FINGERPRINT}/{SECRET}"),
            "not HOST:PORT",
        ),
        (
            format!("FETTLE:h@i:1/{FINGERPRINT}/{SECRET}"),
            "not HOST:PORT",
        ),
        (
            format!("FETTLE:h:1/{}/{SECRET}", &FINGERPRINT[1..]),
            "fingerprint in the code has 51",
        ),
        (
            format!("FETTLE:h:1/{}1/{SECRET}", &FINGERPRINT[1..]),
            "fingerprint",
        ),
        (
            format!("FETTLE:h:1/{FINGERPRINT}/{}", &SECRET[1..]),
            "secret in the code has 15",
        ),
        (
            format!("FETTLE:h:1/{FINGERPRINT}/{}8", &SECRET[1..]),
            "secret",
        ),
    ];
    for (text, named) in cases {
        let why = parse(&text).unwrap_err();
        assert!(why.contains(named) && why.ends_with('.'), "{text}: {why}");
        assert!(!why.contains(SECRET), "{why}");
    }
}

#[test]
fn a_secret_is_not_shown() {
    let code = parse(&format!("FETTLE:h:1/{FINGERPRINT}/{SECRET}")).unwrap();
    assert!(!format!("{code:?}").contains(SECRET));
    let mut paired = Paired::new("h".to_owned(), 1);
    paired.token = SECRET.to_owned();
    assert!(!format!("{paired:?}").contains(SECRET));
}

#[test]
fn fuzz_a_code_is_read_or_its_wrong_part_is_named() {
    let words = [
        "FETTLE:",
        "/",
        ":",
        "[",
        "]",
        "7420",
        FINGERPRINT,
        SECRET,
        "2001:db8::7",
        " ",
    ];
    run("code", &words, 20_000, |bytes| {
        let text = String::from_utf8_lossy(bytes);
        match parse(&text) {
            Ok(code) => {
                let place = address(&code.host, code.port);
                let fingerprint = data_encoding::BASE32_NOPAD.encode(&code.fingerprint);
                let again = format!("FETTLE:{place}/{fingerprint}/{}", code.secret);
                assert_eq!(parse(&again).unwrap(), code);
            }
            Err(why) => assert!(why.ends_with('.'), "{why}"),
        }
    });
}

fn paired() -> Paired {
    let mut paired = Paired::new("bench.local".to_owned(), 7420);
    paired.device = "van-a".to_owned();
    paired
}

#[test]
fn what_was_written_is_read_again() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("shop");
    assert!(!folder::is_paired(&folder));
    let fault = folder::read(&folder).unwrap_err();
    assert!(fault.message.contains("not paired"), "{fault:?}");
    folder::write(&folder, &paired()).unwrap();
    assert_eq!(folder::read(&folder).unwrap(), paired());
    fs::write(folder.join("shop.json"), "{\"format\":1").unwrap();
    let fault = folder::read(&folder).unwrap_err();
    assert!(fault.todo.contains("--again"), "{fault:?}");
}

#[test]
fn the_shop_is_looked_for_where_it_was_reached_last_then_here_and_there() {
    let there = |paired: &Paired| {
        let places = paired.places();
        places.iter().map(ToString::to_string).collect::<Vec<_>>()
    };
    let mut paired = paired();
    assert_eq!(there(&paired), ["bench.local:7420"]);
    let said = ["bench.local:7420", "[2001:db8::7]:443", "no address"].map(str::to_owned);
    let road = Address::read("[2001:db8::7]:443").unwrap();
    assert!(paired.heed_places(said.to_vec(), Some(&road)));
    assert!(!paired.heed_places(said.to_vec(), Some(&road)), "no news");
    assert_eq!(there(&paired), ["[2001:db8::7]:443", "bench.local:7420"]);
    let own = Address::read("bench.local").unwrap();
    assert!(paired.heed_places(said.to_vec(), Some(&own)));
    assert_eq!(there(&paired), ["bench.local:7420", "[2001:db8::7]:443"]);
    // Where the shop says no more that it is there, it is not looked for there.
    assert!(paired.heed_places(Vec::new(), Some(&road)));
    assert_eq!(there(&paired), ["bench.local:7420"]);
}

#[test]
fn what_was_written_before_shops_had_several_addresses_is_read() {
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("shop");
    folder::write(&folder, &paired()).unwrap();
    let text = fs::read_to_string(folder.join("shop.json")).unwrap();
    assert!(
        !text.contains("addresses") && !text.contains("reached"),
        "{text}"
    );
    let mut told = paired();
    assert!(told.heed_places(vec!["a.example:1".to_owned()], None));
    folder::write(&folder, &told).unwrap();
    assert_eq!(folder::read(&folder).unwrap(), told);
}

#[cfg(unix)]
#[test]
fn a_file_that_others_may_read_is_not_used() {
    use std::os::unix::fs::PermissionsExt as _;
    let place = tempfile::tempdir().unwrap();
    let folder = place.path().join("shop");
    folder::write(&folder, &paired()).unwrap();
    let mode = |path: &std::path::Path| fs::metadata(path).unwrap().permissions().mode() & 0o777;
    assert_eq!(
        (mode(&folder), mode(&folder.join("shop.json"))),
        (0o700, 0o600)
    );
    for loose in [0o640, 0o604, 0o660, 0o644, 0o601] {
        let path = folder.join("shop.json");
        fs::set_permissions(&path, fs::Permissions::from_mode(loose)).unwrap();
        let fault = folder::read(&folder).unwrap_err();
        assert_eq!(fault.exit, Exit::NotAllowed);
        assert!(fault.message.contains(&format!("{loose:o}")), "{fault:?}");
        assert!(fault.todo.contains("chmod 600"), "{fault:?}");
    }
}

/// Why there is no connection, as it is told.
async fn why(port: u16, pin: Pin) -> String {
    let opened = Wire::open(&Target::at(("127.0.0.1", port), pin), None).await;
    opened.err().map(|trouble| trouble.what).unwrap_or_default()
}

#[test]
fn whoever_is_not_the_one_hears_nothing() {
    wait(async {
        let (shop, other) = (Shop::open().await, Shop::open().await);
        let by_code = |shop: &Shop| Pin::of_code(shop.fingerprint);
        assert_eq!(why(shop.port, by_code(&shop)).await, "");
        let told = why(shop.port, by_code(&other)).await;
        assert_eq!(told, "the service there is not the one that made this code");
        let told = why(shop.port, Pin::of_pem(&other.root).unwrap()).await;
        assert_eq!(
            told,
            "the service there is not the one this device is paired with"
        );
        assert!(shop.memory().came.is_empty() && shop.memory().tokens.is_empty());
    });
}

#[test]
fn the_certificate_that_was_found_is_the_one_that_is_pinned() {
    wait(async {
        let shop = Shop::open().await;
        let pin = Pin::of_code(shop.fingerprint);
        assert_eq!(pin.to_pem(), None);
        assert_eq!(why(shop.port, pin.clone()).await, "");
        let pem = pin.to_pem().unwrap();
        // rcgen writes its lines with CR LF.
        assert_eq!(pem, shop.root.replace('\r', ""));
        assert_eq!(why(shop.port, Pin::of_pem(&pem).unwrap()).await, "");
    });
}

#[test]
fn a_certificate_of_another_time_or_name_is_told_in_words() {
    type Change = fn(&mut CertificateParams);
    let cases: [(Change, &str); 3] = [
        (
            |leaf| leaf.not_after = date_time_ymd(2020, 1, 1),
            "run out by this device's clock",
        ),
        (
            |leaf| leaf.not_before = date_time_ymd(2200, 1, 1),
            "not valid yet by this device's clock",
        ),
        (|leaf| leaf.subject_alt_names.clear(), "for another name"),
    ];
    for (change, told) in cases {
        wait(async {
            let shop = Shop::open_with(change).await;
            let why = why(shop.port, Pin::of_code(shop.fingerprint)).await;
            assert!(why.contains(told), "{why}");
        });
    }
}

#[test]
fn a_certificate_for_the_address_will_do() {
    wait(async {
        let shop = Shop::open_with(|leaf| {
            let address = rcgen::SanType::IpAddress([127, 0, 0, 1].into());
            leaf.subject_alt_names = vec![address];
        })
        .await;
        assert_eq!(why(shop.port, Pin::of_code(shop.fingerprint)).await, "");
    });
}

/// A port that answers every caller with these bytes and hangs up, or not at all.
async fn answering(bytes: Option<&'static [u8]>) -> u16 {
    let listener = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
    let port = listener.local_addr().unwrap().port();
    tokio::spawn(async move {
        let mut held = Vec::new();
        while let Ok((mut stream, _)) = listener.accept().await {
            match bytes {
                Some(bytes) => stream.write_all(bytes).await.unwrap_or_default(),
                None => held.push(stream),
            }
        }
    });
    port
}

#[test]
fn a_port_that_is_no_service_is_told_in_words() {
    wait(async {
        let pin = || Pin::of_code([7; 32]);
        let closed = TcpListener::bind(("127.0.0.1", 0)).await.unwrap();
        let port = closed.local_addr().unwrap().port();
        drop(closed);
        assert!(why(port, pin()).await.contains("connection refused"));
        let http = answering(Some(b"HTTP/1.1 400 Bad Request\r\n\r\n")).await;
        assert!(why(http, pin()).await.contains("does not speak TLS"));
        let cut = answering(Some(b"")).await;
        assert!(why(cut, pin()).await.contains("cut in the handshake"));
        let start = std::time::Instant::now();
        let silent = answering(None).await;
        assert_eq!(why(silent, pin()).await, "no answer in 3 seconds");
        assert!(start.elapsed() < Duration::from_secs(5));
    });
}
