//! What the log says of those who are refused: who it was where that is known, and from where.
//!
//! Other tests write to the same log. Each line here is known by a name that no other test gives.

use super::super::traced::Log;
use super::attempts::called;
use super::*;

#[tokio::test]
async fn a_device_that_may_not_do_it_is_logged_with_its_name_and_address() {
    let log = Log::all();
    let shop = Shop::open().await;
    let token = shop.pair("van-logged", Role::Look);
    let mut access = AccessServiceClient::new(shop.channel().await);
    let asked = v1::ListDevicesRequest::default();
    access.list_devices(with(&token, asked)).await.unwrap_err();
    let lines = log.lines_where(|line| line["span"]["caller"] == "van-logged");
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!(lines[0]["fields"]["reason"], "ROLE_TOO_LOW");
    assert_eq!(lines[0]["span"]["from"], "127.0.0.1");
}

#[tokio::test]
async fn a_wrong_token_is_logged_with_the_address_it_came_from() {
    let log = Log::all();
    let shop = Shop::open().await;
    let path = "/fettlebook.v1.KitService/LoggedByNobody";
    let refused = called(&shop.channel().await, path, &["Bearer x"], Vec::new()).await;
    assert_told(&refused.unwrap_err(), "TOKEN_UNKNOWN", "");
    let lines = log.lines_where(|line| line["span"]["method"] == path[1..]);
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!(lines[0]["fields"]["reason"], "TOKEN_UNKNOWN");
    assert_eq!(lines[0]["span"]["from"], "127.0.0.1");
    assert!(lines[0]["span"]["caller"].is_null(), "{lines:?}");
}

/// Whoever pairs may be anybody; whoever reads the log looks after the service.
#[tokio::test]
async fn which_file_is_spoilt_stands_in_the_log_and_not_in_the_answer() {
    let log = Log::all();
    let shop = Shop::open().await;
    let spoilt = shop.folder.path().join("access/codes.json");
    std::fs::write(&spoilt, "{").unwrap();
    let mut access = AccessServiceClient::new(shop.channel().await);
    let asked = v1::PairDeviceRequest {
        code_secret: "ABCDEFGHIJ234567".to_owned(),
        token_secret: vec![9; 32],
        ..Default::default()
    };
    let failed = access.pair_device(asked).await.unwrap_err();
    assert_told(&failed, "DISK_FAILED", "");
    let told = String::from_utf8_lossy(failed.details());
    for text in [failed.message(), &told] {
        let folder = shop.folder.path().display().to_string();
        for word in [folder.as_str(), "codes.json", "devices.json"] {
            assert!(!text.contains(word), "{word}: {text}");
        }
    }
    let spoilt = spoilt.display().to_string();
    let names_it = |line: &serde_json::Value| {
        let message = line["fields"]["message"].as_str();
        message.is_some_and(|message| message.contains(&spoilt))
    };
    let lines = log.lines_where(names_it);
    assert_eq!(lines.len(), 1, "{lines:?}");
    assert_eq!(lines[0]["span"]["from"], "127.0.0.1");
}
