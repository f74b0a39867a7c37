//! What has to be given, and what may be left out: the contract's marks beside what the service does.
//!
//! Method: for each rpc there is a request that is right (`right.json`), filled with most of what it can
//! bring. Each field of it is left out in turn, on a fresh book: a REQUIRED one is refused by its name, and
//! without any other one the request is taken.

use std::collections::BTreeMap;
use std::path::Path;

use fettlebook_contract::v1;
use prost::Message as _;
use prost_reflect::{
    DynamicMessage, FieldDescriptor, MethodDescriptor, ReflectMessage as _, Value,
};
use tonic::{Code, Status};
use tonic_types::StatusExt as _;
use uuid::Uuid;

use super::fuzz::Caller;
use super::numbers::{methods, pool};
use super::supply::{line, of};
use super::{NOW, World, fresh, words};
use crate::desk::DeskOptions;
use crate::edge::reflected::{is_needed, is_required};
use crate::edge::tests::Answered as _;
use crate::solo;
use crate::testing::TestClock;

/// Fields that are needed with another one that is there, as the contract says beside them.
const GO_TOGETHER: [&str; 11] = [
    // What is read beside a job says of which, and when beside it.
    "RecordFilm job",
    "RecordFilm moment",
    // Without it the request is of no job, and says not what else it is of.
    "LogUse job",
    // A step has a machine unless it is by hand, and a name in a routine.
    "CreateRoutine routine.steps.machine_make",
    "CreateRoutine routine.steps.step",
    "CreateRoutine routine.steps.shares.machine_make",
    // Panels are kept for its own machine where others share it.
    "CreateRoutine routine.steps.shares",
    // Another routine is checked for one job that is named.
    "CheckJobs jobs",
    // A pad that is swapped has to be the one that was planned.
    "LogUse swaps",
    // A bundle is counted by both numbers.
    "CountKit clean_count",
    "CountKit soiled_count",
];

/// Rpcs that answer only where devices are, once the request is read.
const OF_DEVICES: [&str; 7] = [
    "ListCodes",
    "WithdrawCode",
    "InviteDevice",
    "PairDevice",
    "ListDevices",
    "UpdateDevice",
    "RevokeDevice",
];

fn right() -> BTreeMap<String, serde_json::Value> {
    serde_json::from_str(include_str!("right.json")).unwrap()
}

fn request(method: &MethodDescriptor, right: &serde_json::Value) -> DynamicMessage {
    let mut message = DynamicMessage::deserialize(method.input(), right).unwrap();
    if let Some(id) = method.input().get_field_by_name("request_id") {
        message.set_field(&id, Value::String(fresh()));
    }
    message
}

/// The shop with something in every state that a request here needs, as a folder to copy.
async fn shop() -> tempfile::TempDir {
    let world = World::supplied().await;
    world.receive_battery().await;
    let kit = || world.kit();
    let aside = v1::SetAsideRequest {
        request_id: fresh(),
        tags: words(&["P-05"]),
        reason: v1::AsideReason::Dropped.into(),
        ..Default::default()
    };
    kit().set_aside(aside).await.unwrap();
    let wash = v1::WashKitRequest {
        request_id: fresh(),
        tags: words(&["P-06"]),
        ..Default::default()
    };
    kit().wash_kit(wash).await.unwrap();
    let begun = v1::ReceiveKitRequest {
        request_id: fresh(),
        make: "coarse-compound-1-l".to_owned(),
        tags: words(&["B-02"]),
        volume_ul: Some(400_000),
        ..Default::default()
    };
    kit().receive_kit(begun).await.unwrap();
    let draft = of(vec![line("coarse-foam-150", 1)]);
    world.supply().create_order(draft.clone()).answer().await;
    let placed = v1::CreateOrderRequest {
        request_id: fresh(),
        placed: true,
        ..draft
    };
    world.supply().create_order(placed).answer().await;
    world.service.close().await.unwrap();
    world.folder
}

/// A service on a copy of a book.
async fn world(shop: &Path) -> World {
    let folder = tempfile::tempdir().unwrap();
    copy(shop, folder.path());
    let clock = TestClock::at(NOW);
    let options = DeskOptions::new(clock.clone(), Uuid::now_v7());
    let service = solo::open(folder.path(), options).await;
    World {
        folder,
        clock,
        service: service.unwrap(),
    }
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            std::fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// Where a field stands in a message: fields, each with the element of a list that is meant.
type Steps = Vec<(FieldDescriptor, usize)>;

/// Every field that is set, with those inside it.
fn set_fields(message: &DynamicMessage) -> Vec<Steps> {
    let mut found = Vec::new();
    for (field, value) in message.fields() {
        found.push(vec![(field.clone(), 0)]);
        let inner: Vec<&DynamicMessage> = match value {
            Value::Message(inner) => vec![inner],
            Value::List(values) => values.iter().filter_map(Value::as_message).collect(),
            _ => Vec::new(),
        };
        let ours =
            |inner: &&DynamicMessage| inner.descriptor().full_name().starts_with("fettlebook.");
        for (index, inner) in inner.into_iter().filter(ours).enumerate() {
            for mut path in set_fields(inner) {
                path.insert(0, (field.clone(), index));
                found.push(path);
            }
        }
    }
    found
}

/// The message without one field.
fn without(message: &DynamicMessage, path: &[(FieldDescriptor, usize)]) -> DynamicMessage {
    let mut message = message.clone();
    let ((field, index), rest) = path.split_first().unwrap();
    if rest.is_empty() {
        message.clear_field(field);
        return message;
    }
    match message.get_field_mut(field) {
        Value::Message(inner) => *inner = without(inner, rest),
        Value::List(values) => {
            let inner = values[*index].as_message_mut().unwrap();
            *inner = without(inner, rest);
        }
        other => panic!("{other:?}"),
    }
    message
}

fn name(path: &[(FieldDescriptor, usize)]) -> String {
    let names: Vec<&str> = path.iter().map(|(field, _)| field.name()).collect();
    names.join(".")
}

/// The last parts of the fields that a refusal names: a row's are told by their columns.
fn named(status: &Status) -> Vec<String> {
    let told = status.get_details_bad_request().into_iter();
    let fields = told.flat_map(|told| told.field_violations);
    fields
        .map(|one| one.field.rsplit('.').next().unwrap_or_default().to_owned())
        .collect()
}

async fn send(
    world: &World,
    method: &MethodDescriptor,
    message: &DynamicMessage,
) -> Result<(), Status> {
    let mut caller = Caller::new(world.service.channel());
    caller.call(method, message.encode_to_vec()).await.map(drop)
}

#[tokio::test]
async fn what_is_required_is_refused_by_its_name_and_the_rest_may_be_left_out() {
    let (pool, right, shop) = (pool(), right(), shop().await);
    let (mut needed, mut free, mut wrong) = (0, 0, Vec::new());
    // What is refused leaves nothing behind.
    let refusing = world(shop.path()).await;
    for method in methods(&pool) {
        if method.is_server_streaming() {
            assert!(!method.input().fields().any(|field| is_required(&field)));
            continue;
        }
        let rpc = method.name();
        let right = right.get(rpc);
        let right = right.unwrap_or_else(|| panic!("{rpc} has no right request"));
        let whole = request(&method, right);
        let refused = |sent: Result<(), Status>| {
            let status = sent.err()?;
            let has_no_devices =
                OF_DEVICES.contains(&rpc) && status.code() == Code::FailedPrecondition;
            (!has_no_devices).then_some(status)
        };
        if rpc != "PairDevice" {
            let sent = send(&world(shop.path()).await, &method, &whole).await;
            wrong.extend(refused(sent).map(|status| format!("{rpc} whole: {status:?}")));
        }
        for path in set_fields(&whole) {
            let (field, _) = path.last().unwrap();
            let what = name(&path);
            if GO_TOGETHER.contains(&format!("{rpc} {what}").as_str()) {
                continue;
            }
            let left = without(&whole, &path);
            let choice = field.containing_oneof().filter(is_needed);
            if !is_required(field) && choice.is_none() {
                let sent = send(&world(shop.path()).await, &method, &left).await;
                wrong.extend(refused(sent).map(|told| format!("{rpc} without {what}: {told:?}")));
                free += 1;
                continue;
            }
            let wanted = choice.map_or(field.name().to_owned(), |one| one.name().to_owned());
            match send(&refusing, &method, &left).await {
                Err(status)
                    if status.code() == Code::InvalidArgument
                        && named(&status).contains(&wanted) => {}
                other => wrong.push(format!("{rpc} needs {what}: {other:?}")),
            }
            needed += 1;
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(needed > 100 && free > 100, "{needed} and {free}");
}

#[tokio::test]
async fn a_request_with_five_faults_tells_five() {
    let world = World::shop().await;
    let before = world.journal();
    let booked = v1::BookJobRequest {
        request_id: fresh(),
        job: Some(v1::Job {
            job: "saloon friday".to_owned(),
            car: "hearse".to_owned(),
            utc_offset_s: 70_000,
            left_out_panels: words(&["roof", "hood-left"]),
            start_time: super::stamp("2026-06-05T06:00:00Z"),
            ..Default::default()
        }),
    };
    let status = world.jobs().book_job(booked).await.unwrap_err();
    let told = status.get_details_bad_request().unwrap().field_violations;
    let told: Vec<_> = told
        .iter()
        .map(|one| (one.field.as_str(), one.reason.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            ("job.job", "FIELD_INVALID"),
            ("job.routine", "FIELD_MISSING"),
            ("job.utc_offset_s", "QUANTITY_INVALID"),
            ("job.left_out_panels", "PANEL_UNKNOWN"),
            ("job.car", "CAR_UNKNOWN"),
        ]
    );
    assert!(
        status.message().contains("hood-left"),
        "{}",
        status.message()
    );
    let info = status.get_details_error_info().unwrap();
    assert_eq!(
        (info.reason.as_str(), info.metadata["field"].as_str()),
        ("FIELD_INVALID", "job.job")
    );
    assert_eq!(world.journal(), before);
}

#[tokio::test]
async fn an_edit_a_look_and_a_list_tell_all_that_is_wrong_too() {
    let world = World::shop().await;
    let fields = |status: &Status| {
        let told = status.get_details_bad_request().unwrap().field_violations;
        told.into_iter().map(|one| one.field).collect::<Vec<_>>()
    };
    let edit = v1::UpdateMakeRequest {
        request_id: "seven".to_owned(),
        make: Some(v1::Make {
            make: "Coarse Foam".to_owned(),
            ..Default::default()
        }),
        update_mask: None,
    };
    let status = world.kit().update_make(edit).await.unwrap_err();
    assert_eq!(fields(&status), ["request_id", "make.make"]);
    let pad = v1::PadFigures {
        material: 99,
        face_mm: 4,
        ..Default::default()
    };
    let edit = v1::UpdateMakeRequest {
        request_id: fresh(),
        make: Some(v1::Make {
            make: "coarse-foam-150".to_owned(),
            figures: Some(v1::make::Figures::Pad(pad)),
            ..Default::default()
        }),
        update_mask: Some(prost_types::FieldMask {
            paths: words(&["name", "pad"]),
        }),
    };
    let status = world.kit().update_make(edit).await.unwrap_err();
    assert_eq!(
        fields(&status),
        [
            "make.name",
            "make.pad.material",
            "make.pad.grade",
            "make.pad.face_mm"
        ]
    );
    assert!(
        status.message().contains("PAD_MATERIAL_WOOL"),
        "{}",
        status.message()
    );
    let look = v1::WashKitRequest {
        tags: words(&["P-01", "P 2", "P-99"]),
        done_time: Some(prost_types::Timestamp {
            seconds: 0,
            nanos: -1,
        }),
        validate_only: true,
        ..Default::default()
    };
    let status = world.kit().wash_kit(look).await.unwrap_err();
    assert_eq!(fields(&status), ["done_time", "tags", "tags"]);
    let list = v1::ListPiecesRequest {
        page_size: -1,
        page_token: "00".to_owned(),
        place: "Van A!".to_owned(),
        readiness: 77,
        ..Default::default()
    };
    let status = world.kit().list_pieces(list).await.unwrap_err();
    assert_eq!(
        fields(&status),
        ["place", "readiness", "page_size", "page_token"]
    );
    assert!(
        status.message().contains("READINESS_DRYING"),
        "{}",
        status.message()
    );
}
