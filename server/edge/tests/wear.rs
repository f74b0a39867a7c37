//! Wear: what makes last, what is left of each pad, and the chances and amounts of a job.

use fettlebook_contract::v1;

use super::{World, assert_told, coarse_foam, fresh, words};
use crate::edge::tests::Answered as _;

async fn wear(world: &World, request: v1::ListMakeWearRequest) -> v1::ListMakeWearResponse {
    world.kit().list_make_wear(request).answer().await
}

fn of(make: &str) -> v1::ListMakeWearRequest {
    v1::ListMakeWearRequest {
        make: make.to_owned(),
        ..Default::default()
    }
}

pub(super) async fn bin(world: &World, tags: &[&str], reason: v1::BinReason) -> v1::Entry {
    let request = v1::BinKitRequest {
        request_id: fresh(),
        tags: words(tags),
        reason: reason.into(),
        ..Default::default()
    };
    let answer = world.kit().bin_kit(request).await.unwrap();
    answer.into_inner().entry.unwrap()
}

pub(super) async fn log(world: &World) -> v1::Entry {
    let request = v1::LogUseRequest {
        request_id: fresh(),
        job: "saloon-thursday".to_owned(),
        ..Default::default()
    };
    let answer = world.jobs().log_use(request).await.unwrap();
    answer.into_inner().entry.unwrap()
}

pub(super) fn is_ordered(range: Option<v1::LifeRange>) -> bool {
    let range = range.unwrap();
    [0.0, range.low, range.typical, range.high].is_sorted()
}

#[tokio::test]
async fn the_wear_of_a_make_tells_what_was_seen_and_what_is_believed() {
    let world = World::shop().await;
    let told = wear(&world, of("")).await;
    assert_eq!((told.wear.len(), told.next_page_token.as_str()), (1, ""));
    let fresh_make = &told.wear[0];
    let expected = "No coarse foam 150 has worn out here yet: by its rating, about 8 jobs a pad.";
    assert_eq!(fresh_make.summary, expected);
    let load = "A usual job is one load of reference sections and a wash.";
    assert_eq!(fresh_make.job_rests_on, load);
    assert!(fresh_make.curve.is_empty());

    // A book that works a good fifth of each section again has 77 of them, so that five pads work.
    let change = v1::PolicyChange {
        key: "blend_permille".to_owned(),
        value: Some(213),
    };
    let request = v1::UpdatePolicyRequest {
        request_id: super::fresh(),
        changes: vec![change],
        ..Default::default()
    };
    world.book().update_policy(request).await.unwrap();
    log(&world).await;
    bin(&world, &["P-01", "P-02"], v1::BinReason::Torn).await;
    bin(&world, &["P-03"], v1::BinReason::Precaution).await;
    bin(&world, &["P-04"], v1::BinReason::Lost).await;
    let told = wear(&world, of("coarse-foam-150")).await;
    let [make] = told.wear.as_slice() else {
        panic!("{told:?}")
    };
    assert_eq!(
        (make.make.as_str(), make.make_name.as_str()),
        ("coarse-foam-150", "coarse foam 150")
    );
    assert_eq!((make.failure_count, make.precaution_count), (3, 1));
    assert_eq!((make.cut_off_count, make.in_service_count), (1, 2));
    assert!(
        make.summary.ends_with("from 3 retirements."),
        "{}",
        make.summary
    );
    assert_eq!(
        make.job_rests_on,
        "A usual job is the mean of 5 uses and a wash."
    );
    assert!(
        make.caveats.iter().any(|said| said.contains("precaution")),
        "{:?}",
        make.caveats
    );
    assert!(!make.curve.is_empty() && make.belief.len() > 2);
    assert_eq!((make.belief[0].damage, make.belief[0].survival), (0.0, 1.0));
    assert!(is_ordered(make.life) && is_ordered(make.jobs));
    let (life, jobs) = (make.life.unwrap(), make.jobs.unwrap());
    assert!((jobs.typical * make.job_damage - life.typical).abs() < 1e-9);
    assert_eq!(
        (make.shape, make.shape_fitted, make.shape_low),
        (3.0, false, None)
    );
    let pads: Vec<_> = make.pads.iter().map(|pad| pad.tag.as_str()).collect();
    assert_eq!(pads, ["P-05", "P-06"]);
    let [worn, spare] = make.pads.as_slice() else {
        panic!()
    };
    assert!(worn.damage > spare.damage && spare.damage == 0.0);
    assert_eq!(worn.readiness(), v1::Readiness::Soiled);
    assert_eq!(worn.rests_on, "Rests on 3 retirements here and the rating.");
    assert!(is_ordered(worn.damage_left) && is_ordered(worn.jobs_left));
    let (further, jobs) = (worn.damage_left.unwrap(), worn.jobs_left.unwrap());
    assert!((jobs.typical * make.job_damage - further.typical).abs() < 1e-9);
}

/// Basis: policy: the shape is fitted from ten retirements on.
#[tokio::test]
async fn a_fitted_shape_is_told_with_its_limits() {
    let world = World::shop().await;
    let rows = (1..=10).map(|at| v1::PadRow {
        line: at,
        tag: format!("P-{}", 20 + at),
        make: "coarse-foam-150".to_owned(),
        work_micro_sections: Some(60_000_000 + at * at * 1_000_000),
        readiness: v1::Readiness::Binned.into(),
        bin_reason: v1::BinReason::Worn.into(),
        ..Default::default()
    });
    let request = v1::ImportPadsRequest {
        request_id: fresh(),
        rows: rows.collect(),
        ..Default::default()
    };
    world.book().import_pads(request).await.unwrap();
    let told = wear(&world, of("coarse-foam-150")).await;
    let make = &told.wear[0];
    assert!(make.shape_fitted);
    let (low, high) = (make.shape_low.unwrap(), make.shape_high.unwrap());
    assert!(
        low < make.shape && make.shape < high,
        "{low} {} {high}",
        make.shape
    );
}

#[tokio::test]
async fn wear_is_listed_by_make_in_pages() {
    let world = World::shop().await;
    for make in ["velvet-80", "amber-80"] {
        let request = v1::CreateMakeRequest {
            request_id: fresh(),
            make: Some(coarse_foam(make, 80)),
        };
        world.kit().create_make(request).await.unwrap();
    }
    world.receive("velvet-80", &["P-20"]).await;
    world.receive("amber-80", &["P-21"]).await;
    let (mut makes, mut page_token) = (Vec::new(), String::new());
    for _ in 0..3 {
        let request = v1::ListMakeWearRequest {
            page_size: 1,
            page_token,
            make: String::new(),
        };
        let page = wear(&world, request).await;
        assert_eq!(page.wear.len(), 1);
        makes.extend(page.wear.into_iter().map(|wear| wear.make));
        page_token = page.next_page_token;
    }
    assert_eq!(page_token, "");
    assert_eq!(makes, ["amber-80", "coarse-foam-150", "velvet-80"]);
}

#[tokio::test]
async fn wear_that_cannot_be_told_is_refused_with_the_field() {
    let world = World::shop().await;
    let one = v1::ListMakesRequest {
        page_size: 1,
        ..Default::default()
    };
    let makes = world.kit().list_makes(one).answer().await;
    let page_token = makes.next_page_token;
    let mut kit = world.kit();
    let strange = v1::ListMakeWearRequest {
        page_token,
        ..of("")
    };
    let negative = v1::ListMakeWearRequest {
        page_size: -1,
        ..of("")
    };
    refused! {
        kit.list_make_wear(of("velvet-150")) => "MAKE_UNKNOWN" "make";
        kit.list_make_wear(of("coarse-compound-1-l")) => "WRONG_SORT" "make";
        kit.list_make_wear(of("Velvet 150!")) => "FIELD_INVALID" "make";
        kit.list_make_wear(strange) => "PAGE_TOKEN_INVALID" "page_token";
        kit.list_make_wear(negative) => "FIELD_INVALID" "page_size";
    }
}

/// A page token holds for the make it was given for.
#[tokio::test]
async fn a_page_token_of_all_makes_is_none_of_one_make() {
    let world = World::shop().await;
    let request = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(coarse_foam("amber-80", 80)),
    };
    world.kit().create_make(request).await.unwrap();
    world.receive("amber-80", &["P-20"]).await;
    let first = v1::ListMakeWearRequest {
        page_size: 1,
        ..of("")
    };
    let token = wear(&world, first).await.next_page_token;
    let other = v1::ListMakeWearRequest {
        page_token: token,
        ..of("coarse-foam-150")
    };
    let status = world.kit().list_make_wear(other).await.unwrap_err();
    assert_told(&status, "PAGE_TOKEN_INVALID", "page_token");
}

/// Lives that fit no belief are a matter of their make: the others are told all the same.
#[tokio::test]
async fn a_make_with_strange_lives_does_not_hide_the_others() {
    let world = World::shop().await;
    let mut strange = coarse_foam("amber-80", 80);
    let Some(v1::make::Figures::Pad(pad)) = &mut strange.figures else {
        panic!()
    };
    pad.typical_life_sections = Some(1_000);
    pad.least_life_sections = Some(999);
    let request = v1::CreateMakeRequest {
        request_id: fresh(),
        make: Some(strange),
    };
    world.kit().create_make(request).await.unwrap();
    world.receive("amber-80", &["P-20"]).await;
    let told = wear(&world, of("")).await.wear;
    assert_eq!(told.len(), 2);
    let left_out = "The lives you gave are left out";
    assert!(
        told[0]
            .caveats
            .iter()
            .any(|said| said.starts_with(left_out))
    );
    assert!(
        !told[1]
            .caveats
            .iter()
            .any(|said| said.starts_with(left_out))
    );
}

#[tokio::test]
async fn a_check_and_a_plan_tell_chances_and_real_use() {
    let world = World::shop().await;
    let checked = world
        .jobs()
        .check_jobs(v1::CheckJobsRequest::default())
        .await;
    let checked = checked.unwrap().into_inner().checks.remove(0);
    assert_eq!(checked.carry_target, 0.95);
    let chance = checked.carry_chance.unwrap();
    assert!(0.0 < chance && chance <= 1.0);
    let by_kind = |kind: v1::CheckLineKind| {
        checked
            .lines
            .iter()
            .find(|line| line.kind() == kind)
            .unwrap()
    };
    let pads = by_kind(v1::CheckLineKind::Pad);
    assert!(pads.carry_chance.is_some_and(|one| one >= chance));
    assert_eq!(pads.rests_on, "Rests on the rating only.");
    let liquid = by_kind(v1::CheckLineKind::Liquid);
    assert_eq!(liquid.planned_quantity, Some(liquid.need_quantity));
    assert!(by_kind(v1::CheckLineKind::Towel).carry_chance.is_none());
    let request = v1::PlanJobRequest {
        job: "saloon-thursday".to_owned(),
    };
    let plan = world.jobs().plan_job(request).answer().await.plan.unwrap();
    let [need] = plan.liquids.as_slice() else {
        panic!("{:?}", plan.liquids)
    };
    assert_eq!(
        (need.expected_ul, need.planned_ul),
        (liquid.need_quantity, liquid.need_quantity)
    );
    assert!(
        need.low_ul < need.expected_ul && need.expected_ul < need.high_ul,
        "{need:?}"
    );
    assert!(
        need.rests_on.starts_with("Rests on the plan only"),
        "{}",
        need.rests_on
    );
}
