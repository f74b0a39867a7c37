//! The screens of a shop, at 80 columns, and the picture of a code as another program reads it.

use fettlebook_contract::pairing::TypedCode;
use fettlebook_contract::v1::{
    Device, DeviceOutbox, Entry, InviteDeviceResponse, Kept, OpenCode, Role,
};
use textwrap::core::display_width;

use crate::render::scenario::{
    ascii, at, entries_listed, entry as recorded, plain, plain_ascii, screen,
};
use crate::render::{Screen, code, entry, shop, tint};
use crate::shop::folder::Paired;

fn device(name: &str, role: Role) -> Device {
    Device {
        name: name.to_owned(),
        role: role.into(),
        paired_time: at(0),
        invited_by: "bench".to_owned(),
        ..Device::default()
    }
}

#[test]
fn devices_say_what_they_may_and_when_they_last_called() {
    let devices = [
        Device {
            used_time: at(3),
            place: "bench".to_owned(),
            ..device("bench", Role::Own)
        },
        Device {
            synced_time: at(1),
            outbox: Some(DeviceOutbox {
                waiting_count: 3,
                parked_count: 1,
            }),
            place: "van-a".to_owned(),
            ..device("van-a", Role::Work)
        },
        Device {
            used_time: at(1),
            revoked_time: at(2),
            revoked_by: "bench".to_owned(),
            outbox: Some(DeviceOutbox::default()),
            place: "van-b".to_owned(),
            ..device("van-b", Role::Keep)
        },
    ];
    insta::assert_snapshot!(plain(&shop::devices(&screen(120), &devices)), @r"
    Device  Role  Place  Waits there          Last sync              Last used              Revoked
    bench   own   bench  not known            never                  Thu 26 Nov 2026 11:00
    van-a   work  van-a  3 waiting, 1 parked  Thu 26 Nov 2026 09:00  never
    van-b   keep  van-b  nothing              never                  Thu 26 Nov 2026 09:00  Thu 26 Nov 2026 10:00
    ");
    insta::assert_snapshot!(plain(&shop::revoked(&screen(80), &devices[2])), @r"
    van-b is shut out from now on. What it reported stays in the book; what it kept
    and did not send is on it alone.
    ");
    insta::assert_snapshot!(shop::has_role(&screen(80), &devices[2]), @"van-b has the role keep from now on.");
}

/// What is said of pairing, codes and keys for scripts.
fn sayings(page: &Screen) -> Vec<String> {
    let mut paired = Paired::new("192.168.100.200".to_owned(), 7420);
    paired.device = "stock-counter".to_owned();
    paired.role = "look".to_owned();
    let open = OpenCode {
        name: "stock-counter".to_owned(),
        role: Role::Look.into(),
        invited_by: "bench".to_owned(),
        expire_time: at(0),
        again: true,
        ..OpenCode::default()
    };
    vec![
        shop::paired(page, &paired, None),
        shop::opened(page, &paired, None),
        shop::codes(page, &[]),
        shop::codes(page, std::slice::from_ref(&open)),
        shop::withdrawn(page, &open),
        shop::has_role(page, &device("stock-counter", Role::Keep)),
        shop::exported(page, &paired, PEM, "keys/stock-counter.token"),
    ]
}

/// Longer than a narrow terminal is wide.
const PEM: &str = "/home/bench/keys-of-scripts-and-pages/stock-counter.pem";

#[test]
fn no_screen_of_codes_and_keys_is_wider_than_its_page_but_for_a_path() {
    for width in [40, 45, 60, 80, 120] {
        for said in sayings(&screen(width)) {
            let said = plain(&said);
            for line in said.lines().filter(|line| !line.ends_with(PEM)) {
                assert!(display_width(line) <= width, "{width}: {line}");
            }
            assert!(!said.ends_with('\n') || said.starts_with("open"), "{said}");
        }
    }
    let [.., exported] = &sayings(&screen(60))[..] else {
        panic!("nothing is said");
    };
    insta::assert_snapshot!(plain(exported), @r"
    paired: stock-counter may call the shop at
      192.168.100.200:7420, with the role look.
    /home/bench/keys-of-scripts-and-pages/stock-counter.pem
      whom it believes: the one certificate to trust, for the
      name fettled.internal
    keys/stock-counter.token
      what it sends: the header authorization, with Bearer and
      the line in this file
    Nobody else may read them; whoever has them may do what
    stock-counter may. 'fettle shop devices --revoke
    stock-counter' shuts it out.
    ");
}

pub(super) fn invited() -> InviteDeviceResponse {
    InviteDeviceResponse {
        code: format!(
            "FETTLE:192.168.100.200:7420/{}/ABCDEFGHIJKLMNOP",
            "MFRGGZDFMZTWQ2LKNNWG23TPOBYXE43UOV3HO6DZPIYTEMZUGU3A"
                .get(..52)
                .unwrap()
        ),
        expire_time: at(0),
        fingerprint: ["3521"; 16].join(" "),
        typed_code: "192.168.100.200/K7Q2-9XJM-4T?".replace('?', &check()),
    }
}

/// The check letter of that code: the one that is not taken for mistyped.
fn check() -> String {
    let letters = fettlebook_contract::pairing::LETTERS;
    let mut letters = letters.iter().map(|letter| char::from(*letter).to_string());
    let is_it =
        |letter: &String| TypedCode::parse(&format!("192.168.100.200/K7Q29XJM4T{letter}")).is_ok();
    letters.find(is_it).unwrap()
}

/// What a terminal shows whose own colours are these: whether writing and ground are light.
#[derive(Clone, Copy)]
struct Colours {
    writing: bool,
    ground: bool,
}

/// The light of the upper and the lower half of each cell of a line.
///
/// Source: ECMA-48, select graphic rendition: 0 resets, 30 to 37 and 90 to 97 colour the writing, 40 to 47 and
/// 100 to 107 the ground; of each the first is black and the last white.
fn shown(line: &str, own: Colours) -> Vec<[bool; 2]> {
    let (mut cells, mut now, mut rest) = (Vec::new(), own, line);
    while let Some(first) = rest.chars().next() {
        if let Some(after) = rest.strip_prefix("\u{1b}[") {
            let (codes, after) = after.split_once('m').unwrap();
            for code in codes.split(';') {
                match code {
                    "" | "0" => now = own,
                    "37" | "97" => now.writing = true,
                    "30" | "90" => now.writing = false,
                    "47" | "107" => now.ground = true,
                    "40" | "100" => now.ground = false,
                    other => panic!("the colour {other} is not looked up here"),
                }
            }
            rest = after;
            continue;
        }
        let (writing, ground) = (now.writing, now.ground);
        cells.push(match first {
            '█' => [writing, writing],
            '▀' => [writing, ground],
            '▄' => [ground, writing],
            ' ' => [ground, ground],
            other => panic!("{other} is no part of a picture"),
        });
        rest = &rest[first.len_utf8()..];
    }
    cells
}

/// Source: the crate rqrr, a decoder that shares nothing with what draws the picture.
#[test]
fn the_picture_of_a_code_is_read_on_a_dark_and_on_a_light_terminal_and_fits_it() {
    let page = code::invited(&screen(80), "van-b", "work", &invited());
    let wrapped: usize = plain(&page)
        .lines()
        .map(|line| display_width(line).div_ceil(80))
        .sum();
    assert!(wrapped <= 24, "{wrapped} lines");
    let is_drawn = |line: &&str| line.contains(['█', '▀', '▄']);
    let coloured = tint::finish(&page, true, true);
    let drawn: Vec<&str> = coloured.lines().take_while(is_drawn).collect();
    for (writing, ground) in [(true, false), (false, true)] {
        let own = Colours { writing, ground };
        let cells: Vec<_> = drawn.iter().map(|line| shown(line, own)).collect();
        let width = cells[0].len();
        assert!(cells.iter().all(|line| line.len() == width));
        // Eight points to a module.
        let mut picture =
            rqrr::PreparedImage::prepare_from_greyscale(width * 8, drawn.len() * 16, |x, y| {
                let half = y / 8;
                if cells[half / 2][x / 8][half % 2] {
                    255
                } else {
                    0
                }
            });
        let found = picture.detect_grids();
        assert_eq!(found.len(), 1, "light writing: {writing}");
        let (_, content) = found[0].decode().unwrap();
        assert!(
            content.starts_with("https://192.168.100.200:7420/#"),
            "{content}"
        );
        assert_eq!(
            TypedCode::parse(&content).unwrap().to_string(),
            invited().typed_code
        );
    }
}

#[test]
fn without_block_characters_a_code_is_text() {
    let page = plain_ascii(&code::invited(&ascii(80), "van-b", "work", &invited()));
    insta::assert_snapshot!(page, @r"
    For van-b (work), once, until Thu 26 Nov 2026 08:00. There:
      fettle shop pair 192.168.100.200/K7Q2-9XJM-4TG
    Or on a telephone: scan the picture, or open in its browser
      https://192.168.100.200:7420/#K7Q29XJM4TG
    ");
}

fn kept(seq: i64) -> Entry {
    Entry {
        seq,
        by: "van-a".to_owned(),
        done_time: at(0),
        recorded_time: at(3),
        request_id: "0193".to_owned(),
        kept: Some(Kept {
            number: 17,
            seen_seq: 68,
            kept_time: at(0),
            ..Kept::default()
        }),
        ..recorded()
    }
}

#[test]
fn what_was_only_kept_is_not_called_an_entry() {
    insta::assert_snapshot!(plain(&entry::recorded(&screen(80), &kept(0))), @r"
    Kept here as deed 17  Thu 26 Nov 2026 08:00
      saloon-thursday  done.
      P-07, P-08       worked 17 sections in 41 min (cut).
      P-07             was binned: torn.
      B-03             gave 82 mL, as planned (cut).
      B-03             weighed 412 g: 318.2 mL left.
      Flagged: B-03: the weight says 31 mL less than the book.
      Note: hot day, pads changed early
    ");
    insta::assert_snapshot!(plain(&entry::as_understood(&screen(80), &kept(0))), @r"
    Kept here as deed 17  Thu 26 Nov 2026 08:00
      Kept as understood, 6 lines.
    ");
    let blank = Entry {
        deeds: Vec::new(),
        ..kept(0)
    };
    insta::assert_snapshot!(plain(&entry::preview(&screen(80), &blank)), @r"
    Understood, done Thu 26 Nov 2026 08:00:
      Flagged: B-03: the weight says 31 mL less than the book.
      What follows from it only the shop can say.
    ");
}

#[test]
fn who_did_what_is_a_column_where_there_are_several() {
    let bench = Entry {
        seq: 70,
        ..recorded()
    };
    let several = |width| plain(&entries_listed(width, &[kept(69), bench.clone()]));
    insta::assert_snapshot!(several(80), @r"
    Entry                   Done  By     What happened
       69  Thu 26 Nov 2026 08:00  van-a  saloon-thursday: done; P-07, P-08 worked 17
                                         sections in 41 min (cut); P-07 was binned:
                                         torn; and 2 more (flagged)
       70                  13:00  solo   saloon-thursday: done; P-07, P-08 worked 17
                                         sections in 41 min (cut); P-07 was binned:
                                         torn; and 2 more (flagged)
    ");
    let card = several(45);
    assert!(card.contains("\n  By             solo\n"), "{card}");
    assert!(!plain(&entries_listed(80, &[kept(69)])).contains("van-a"));
}

#[test]
fn an_entry_says_on_which_device_it_was_kept() {
    insta::assert_snapshot!(plain(&entry::details(&screen(80), &kept(69))), @r"
    Entry 69  Thu 26 Nov 2026 08:00
      saloon-thursday  done.
      P-07, P-08       worked 17 sections in 41 min (cut).
      P-07             was binned: torn.
      B-03             gave 82 mL, as planned (cut).
      B-03             weighed 412 g: 318.2 mL left.
      Flagged: B-03: the weight says 31 mL less than the book.
      Note: hot day, pads changed early
      Recorded Thu 26 Nov 2026 11:00 by van-a, request 0193
      Kept Thu 26 Nov 2026 08:00 as deed 17 of van-a, which had seen entry 68
    ");
}
