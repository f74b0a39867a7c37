//! Something sensible to ask of every rpc of the kit, the jobs and the book, as JSON, and the way to
//! ask it.
//!
//! It serves tests that look at whole answers by the contract's own description: an rpc that is added
//! has to be asked here, or the tests fail.

use std::collections::BTreeSet;

use fettlebook_contract::call::{RPCS, Rpc};
use fettlebook_contract::v1::CallKind;
use fettlebook_contract::{DESCRIPTOR_SET, v1};
use prost::Message as _;
use prost_reflect::{DescriptorPool, DynamicMessage, MethodDescriptor};
use tonic::client::Grpc;
use tonic::codegen::http::uri::PathAndQuery;
use tonic::transport::Channel;
use tonic::{Request, Status};

use super::raw::Raw;
use super::supply::eur;
use super::{World, fresh, journal_of};

/// What is read, from a shop that has been [`priced`].
pub(super) const READS: &[(&str, &str)] = &[
    ("GetMake", r#"{"make": "coarse-foam-150"}"#),
    ("ListMakes", "{}"),
    ("GetPiece", r#"{"tag": "P-07"}"#),
    ("ListPieces", r#"{"showBinned": true}"#),
    ("ListMakeWear", "{}"),
    ("GetPieceLife", r#"{"tag": "P-07"}"#),
    ("ListPieceWear", "{}"),
    ("GetKitBudget", "{}"),
    ("GetCar", r#"{"car": "medium-saloon-silver"}"#),
    ("ListCars", "{}"),
    ("GetRoutine", r#"{"routine": "one-step"}"#),
    ("ListRoutines", "{}"),
    ("GetJob", r#"{"job": "saloon-thursday"}"#),
    ("ListJobs", "{}"),
    ("PlanJob", r#"{"job": "saloon-thursday"}"#),
    ("CheckJobs", r#"{"jobs": ["saloon-thursday"]}"#),
    ("GetToday", "{}"),
    ("ListEntries", r#"{"pageSize": 1000}"#),
    ("GetEntry", r#"{"seq": "1"}"#),
    ("GetPolicy", "{}"),
    ("ListStarterKits", "{}"),
];

/// What is read of the service itself.
pub(super) const OF_SERVICE: &[(&str, &str)] = &[
    ("GetBook", "{}"),
    ("VerifyBook", "{}"),
    ("CopyEntries", "{}"),
    ("GetCondition", "{}"),
    ("ListShops", "{}"),
];

/// What is written, in an order in which all of it can be.
pub(super) const WRITES: &[(&str, &str)] = &[
    (
        "ReceiveKit",
        r#"{"make": "coarse-compound-1-l", "tags": ["B-30"]}"#,
    ),
    ("TakeJob", r#"{"job": "saloon-thursday"}"#),
    ("MoveKit", r#"{"tags": ["P-07"], "place": "van-a"}"#),
    ("WashKit", r#"{"tags": ["P-08"]}"#),
    ("MarkDry", r#"{"tags": ["P-08"]}"#),
    ("MarkLabelled", r#"{"tags": ["P-08"]}"#),
    ("ChargeBatteries", r#"{"tags": ["BT-01"]}"#),
    (
        "RecordFilm",
        r#"{"car": "medium-saloon-silver", "job": "saloon-thursday", "moment": "FILM_MOMENT_BEFORE", "panels": [{"panel": "bonnet", "spotsUm": ["112", "115", "118"]}]}"#,
    ),
    (
        "WeighBottles",
        r#"{"weighings": [{"bottle": "B-01", "grossMg": "500000"}]}"#,
    ),
    (
        "FillBottle",
        r#"{"bottle": "B-01", "from": "B-30", "volumeUl": "1000"}"#,
    ),
    ("CountKit", r#"{"tag": "S-01", "quantity": "40"}"#),
    (
        "SetAside",
        r#"{"tags": ["P-08"], "reason": "ASIDE_REASON_INSPECT"}"#,
    ),
    ("ReturnKit", r#"{"tags": ["P-08"]}"#),
    (
        "BinKit",
        r#"{"tags": ["B-30"], "reason": "BIN_REASON_LOST"}"#,
    ),
    (
        "DemoteTowels",
        r#"{"tag": "T-01", "grade": "TOWEL_GRADE_WHEELS"}"#,
    ),
    (
        "LogUse",
        r#"{"job": "saloon-thursday", "validateOnly": true}"#,
    ),
    (
        "LogUse",
        r#"{"loose": {}, "sundries": [{"tag": "S-01", "quantity": "2"}]}"#,
    ),
    ("LogUse", r#"{"job": "saloon-thursday"}"#),
];

/// The name of an rpc, such as `WashKit`.
pub(super) fn name_of(rpc: &Rpc) -> &'static str {
    rpc.path.rsplit('/').next().unwrap()
}

/// Every rpc of the contract that takes one message and gives one.
fn methods() -> Vec<MethodDescriptor> {
    let pool = DescriptorPool::decode(DESCRIPTOR_SET).unwrap();
    let services: Vec<_> = pool.services().collect();
    let methods = services
        .iter()
        .flat_map(|service| service.methods().collect::<Vec<_>>());
    methods
        .filter(|method| !method.is_server_streaming() && !method.is_client_streaming())
        .collect()
}

/// Asks an rpc by its name, with a new request id where it wants one.
pub(super) async fn ask(
    channel: Channel,
    name: &str,
    json: &str,
) -> Result<DynamicMessage, Status> {
    let method = methods()
        .into_iter()
        .find(|method| method.name() == name)
        .unwrap();
    let mut read = serde_json::Deserializer::from_str(json);
    let mut message = DynamicMessage::deserialize(method.input(), &mut read).unwrap();
    if let Some(field) = method.input().get_field_by_name("request_id") {
        message.set_field(&field, prost_reflect::Value::String(fresh()));
    }
    let path = format!("/{}/{name}", method.parent_service().full_name());
    let mut grpc = Grpc::new(channel);
    grpc.ready().await.unwrap();
    let asked = Request::new(message.encode_to_vec());
    let answer = grpc
        .unary(asked, PathAndQuery::try_from(path).unwrap(), Raw)
        .await?;
    Ok(DynamicMessage::decode(method.output(), answer.into_inner().as_slice()).unwrap())
}

/// The supplied shop with a priced make, an order that came in part and is told by an entry that was
/// reversed, and pieces with a cost: P-07 and P-08.
pub(super) async fn priced() -> World {
    let world = World::supplied().await;
    world.receive_battery().await;
    let mut make = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(v1::Make {
            make: "coarse-foam-150".to_owned(),
            price: eur("11.90"),
            ..Default::default()
        }),
        ..Default::default()
    };
    make.update_mask = Some(prost_types::FieldMask {
        paths: vec!["price".to_owned()],
    });
    world.kit().update_make(make).await.unwrap();
    let line = v1::OrderLine {
        make: "coarse-foam-150".to_owned(),
        pack_count: 2,
        ..Default::default()
    };
    let order = v1::CreateOrderRequest {
        request_id: fresh(),
        supplier: "tern-quay".to_owned(),
        lines: vec![line],
        placed: true,
        ..Default::default()
    };
    world.supply().create_order(order).await.unwrap();
    let came = v1::ReceiveOrderRequest {
        request_id: fresh(),
        order: "order-1".to_owned(),
        lines: vec![v1::DeliveryLine {
            make: "coarse-foam-150".to_owned(),
            pack_count: 1,
            ..Default::default()
        }],
        ..Default::default()
    };
    world.supply().receive_order(came).await.unwrap();
    let moved = ask(
        world.service.channel(),
        "MoveKit",
        r#"{"tags": ["P-07"], "place": "van-a"}"#,
    );
    moved.await.unwrap();
    let head = world
        .book()
        .get_book(v1::GetBookRequest::default())
        .await
        .unwrap();
    let reversal = v1::ReverseEntryRequest {
        request_id: fresh(),
        seq: head.into_inner().head_seq,
        ..Default::default()
    };
    world.book().reverse_entry(reversal).await.unwrap();
    world
}

/// Source: the contract's options, and the journal of a shop that is asked.
#[tokio::test]
async fn what_the_contract_says_only_reads_is_asked_here_and_writes_nothing() {
    let of_kind = |kind: CallKind| {
        let of_it = RPCS.iter().filter(move |rpc| rpc.kind == kind);
        let of_it = of_it.filter(|rpc| !rpc.path.contains(".SupplyService/"));
        of_it.map(name_of).collect::<BTreeSet<_>>()
    };
    let names = |asks: &[(&'static str, &str)]| -> BTreeSet<&str> {
        asks.iter().map(|(name, _)| *name).collect()
    };
    let mut reads = names(READS);
    reads.insert("GetBook");
    assert_eq!(of_kind(CallKind::Reads), reads);
    assert_eq!(of_kind(CallKind::Keepable), names(WRITES));

    let world = priced().await;
    let before = journal_of(world.folder.path());
    for (name, json) in READS.iter().chain(OF_SERVICE) {
        ask(world.service.channel(), name, json).await.unwrap();
        assert_eq!(journal_of(world.folder.path()), before, "{name}");
    }
}
