//! What the meters count, as it reads in the text format.

use std::time::Duration;

use prometheus_client::encoding::text::encode;
use prometheus_client::registry::Registry;

use super::Meters;

fn shown(meters: &Meters) -> String {
    let mut registry = Registry::with_prefix("fettled");
    meters.register(&mut registry);
    let mut text = String::new();
    encode(&mut text, &registry).unwrap();
    text
}

#[test]
fn a_request_is_in_flight_until_it_is_dropped_and_timed_once() {
    let meters = Meters::default();
    let mut request = meters.request("S/M");
    request.began(Duration::from_millis(3));
    request.began(Duration::from_secs(5));
    assert!(shown(&meters).contains("fettled_requests_in_flight 1\n"));
    request.ended("NOT_FOUND", Some("TAG_UNKNOWN"));
    drop(meters.request("S/M"));
    let text = shown(&meters);
    for line in [
        "fettled_requests_in_flight 0",
        r#"fettled_requests_total{method="S/M",code="NOT_FOUND"} 1"#,
        r#"fettled_refusals_total{reason="TAG_UNKNOWN"} 1"#,
        r#"fettled_request_duration_seconds_count{method="S/M"} 1"#,
        r#"fettled_request_duration_seconds_bucket{le="0.0025",method="S/M"} 0"#,
        r#"fettled_request_duration_seconds_bucket{le="0.005",method="S/M"} 1"#,
    ] {
        assert!(text.contains(&format!("{line}\n")), "{line}\n{text}");
    }
}

#[test]
fn groups_and_what_is_open_are_counted() {
    let meters = Meters::default();
    meters.synced(3, Duration::from_millis(2));
    let (first, second) = (meters.connection(), meters.connection());
    let watch = meters.watch();
    drop(first);
    let text = shown(&meters);
    for line in [
        "fettled_journal_sync_duration_seconds_count 1",
        r#"fettled_journal_group_entries_bucket{le="2.0"} 0"#,
        r#"fettled_journal_group_entries_bucket{le="4.0"} 1"#,
        "fettled_connections_open 1",
        "fettled_watches_open 1",
    ] {
        assert!(text.contains(&format!("{line}\n")), "{line}\n{text}");
    }
    drop((second, watch));
    assert!(shown(&meters).contains("fettled_connections_open 0\n"));
}
