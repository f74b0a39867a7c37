//! What each command answers with `--json`.

use super::shape::Shape::{
    self, AnyOf, Anything, Beside, Flag, List, Message, Moment, Null, Number, Object, Text, Whole,
    Word,
};
use super::shape::{always, maybe};

/// Commands that print text, whatever is asked for.
pub(super) const NO_JSON: &[&str] = &["sheet"];

/// The document of a command that failed.
pub(super) const ERROR: Shape = Object(&[always("error", FAULT)]);

const FAULT: Shape = Object(&[
    always("reason", Text),
    always("message", Text),
    always("field", Text),
    always("todo", Text),
    always("exitCode", Number),
    maybe("example", Text),
    maybe("violations", List(&VIOLATION)),
    maybe("problems", List(&PROBLEM)),
]);

const VIOLATION: Shape = Object(&[
    always("field", Text),
    always("reason", Text),
    always("message", Text),
]);

const PROBLEM: Shape = Object(&[
    always("line", Number),
    always("column", Text),
    always("text", Text),
    always("todo", Text),
]);

/// Each command with what it answers.
pub(super) const ANSWERS: &[(&str, Shape)] = &[
    ("today", Message("GetTodayResponse")),
    ("start", Message("StartResponse")),
    ("check", Message("CheckJobsResponse")),
    ("take", Message("TakeJobResponse")),
    ("log", Message("LogUseResponse")),
    ("wash", Message("WashKitResponse")),
    ("undo", UNDONE),
    ("entries", ENTRIES),
    ("weigh", Message("WeighBottlesResponse")),
    ("fill", Message("FillBottleResponse")),
    ("charge", Message("ChargeBatteriesResponse")),
    ("receive", RECEIVED),
    ("labels", LABELS),
    ("count", Message("CountKitResponse")),
    ("move", Message("MoveKitResponse")),
    ("bin", Message("BinKitResponse")),
    ("wear", WORN),
    ("reorder", REORDERED),
    ("quote", Message("QuoteJobResponse")),
    ("make add pad", Message("CreateMakeResponse")),
    ("make add plate", Message("CreateMakeResponse")),
    ("make add machine", Message("CreateMakeResponse")),
    ("make add towel", Message("CreateMakeResponse")),
    ("make add liquid", Message("CreateMakeResponse")),
    ("make add sundry", Message("CreateMakeResponse")),
    ("make add tool", Message("CreateMakeResponse")),
    ("make add battery", Message("CreateMakeResponse")),
    ("make edit", Message("UpdateMakeResponse")),
    ("make list", Message("ListMakesResponse")),
    ("make show", Message("GetMakeResponse")),
    ("kit list", Message("ListPiecesResponse")),
    ("kit show", PIECE),
    ("kit aside", Message("SetAsideResponse")),
    ("kit return", Message("ReturnKitResponse")),
    ("kit dry", Message("MarkDryResponse")),
    ("kit demote", Message("DemoteTowelsResponse")),
    ("car add", Message("CreateCarResponse")),
    ("car edit", Message("UpdateCarResponse")),
    ("car list", Message("ListCarsResponse")),
    ("car show", Message("GetCarResponse")),
    ("car readings", Message("RecordFilmResponse")),
    ("routine add", Message("CreateRoutineResponse")),
    ("routine edit", Message("UpdateRoutineResponse")),
    ("routine list", Message("ListRoutinesResponse")),
    ("routine show", Message("GetRoutineResponse")),
    ("job add", Message("BookJobResponse")),
    ("job edit", Message("UpdateJobResponse")),
    ("job list", Message("ListJobsResponse")),
    ("job show", Message("GetJobResponse")),
    ("job call-off", Message("CallOffJobResponse")),
    ("job plan", Message("PlanJobResponse")),
    ("job cost", Message("GetJobCostResponse")),
    ("supplier add", Message("CreateSupplierResponse")),
    ("supplier edit", Message("UpdateSupplierResponse")),
    ("supplier price", Message("UpdateSupplierResponse")),
    ("supplier list", Message("ListSuppliersResponse")),
    ("supplier show", Message("GetSupplierResponse")),
    ("order add", Message("CreateOrderResponse")),
    ("order list", Message("ListOrdersResponse")),
    ("order show", Message("GetOrderResponse")),
    ("order place", Message("PlaceOrderResponse")),
    ("order close", Message("CloseOrderResponse")),
    ("book where", WHERE),
    ("book entries", ENTRIES),
    ("book show", Message("GetEntryResponse")),
    ("book reverse", Message("ReverseEntryResponse")),
    ("book policy", POLICY),
    ("book set", Message("UpdatePolicyResponse")),
    ("book verify", VERIFIED_AGAINST),
    ("book backup", BACKED_UP),
    ("book restore", RESTORED),
    ("book mend", MENDED),
    ("book export", EXPORTED),
    ("book import", IMPORTED),
    ("shops", Message("ListShopsResponse")),
    ("shop open", OPENED),
    ("shop pair", PAIRED),
    ("shop devices", DEVICES),
    ("shop codes", CODES),
    ("shop export-key", EXPORTED_KEY),
    ("shop sync", SYNCED),
    ("shop parked", PARKED),
    ("shop where", WAY),
    ("shop address", ADDRESS),
    ("shop leave", LEFT),
    ("doctor", DOCTOR),
    ("page", PAGE),
    ("demo", DEMO),
    (
        "completions",
        Object(&[always("shell", Text), always("script", Text)]),
    ),
    ("man", Object(&[always("folder", Text)])),
    // What describes the others is a document of its own.
    ("schema", Anything),
];

/// A list, or with `--follow` an entry a line.
const ENTRIES: Shape = AnyOf(&[Message("ListEntriesResponse"), Message("Entry")]);

const UNDONE: Shape = Object(&[always("reversals", List(&Message("ReverseEntryResponse")))]);

/// The whole kit at a glance; or one pad make, the pieces alone, or the budget alone.
const WORN: Shape = AnyOf(&[
    Object(&[
        always("wear", List(&Message("MakeWear"))),
        always("pieces", List(&Message("PieceWear"))),
        always("budget", Message("GetKitBudgetResponse")),
    ]),
    Message("ListMakeWearResponse"),
    Message("ListPieceWearResponse"),
    Message("GetKitBudgetResponse"),
]);

/// What came without an order, or on one.
const LABELS: Shape = AnyOf(&[
    Message("MarkLabelledResponse"),
    Message("ListPiecesResponse"),
]);

const RECEIVED: Shape = AnyOf(&[
    Message("ReceiveKitResponse"),
    Message("ReceiveOrderResponse"),
]);

/// The list, or with `--place` what became of it.
const REORDERED: Shape = AnyOf(&[
    Message("ListReorderResponse"),
    Object(&[
        always("reorder", Message("ListReorderResponse")),
        always("orders", List(&ORDERED)),
        always("notPlaced", List(&NOT_ORDERED)),
    ]),
]);

/// Where the page is, once it is open.
const PAGE: Shape = Object(&[
    always("address", Text),
    always("name", Text),
    always("role", Text),
    always("code", AnyOf(&[Message("InviteDeviceResponse"), Null])),
]);

const ORDERED: Shape = Object(&[
    always("supplier", Text),
    always("order", Text),
    always("entry", AnyOf(&[Message("Entry"), Null])),
]);

const NOT_ORDERED: Shape = Object(&[always("supplier", Text), always("why", Text)]);

const PIECE: Shape = Object(&[
    always("piece", AnyOf(&[Message("Piece"), Null])),
    always("entries", List(&Message("Entry"))),
    always("points", List(&Beside("LifePoint", &[maybe("seq", Whole)]))),
    always("left", AnyOf(&[Message("PadLeft"), Null])),
    always("supply", AnyOf(&[Message("SupplyLife"), Null])),
]);

const WHERE: Shape = Object(&[
    always("where", Text),
    always("book", Message("GetBookResponse")),
    maybe("shop", SHOP),
]);

const SHOP: Shape = Object(&[
    always("address", Text),
    always("device", Text),
    always("role", Text),
    always("folder", Text),
    always("reached", Flag),
    always("copyAsOfTime", AnyOf(&[Moment, Null])),
]);

/// The policies, or with `--renew` the figures that were renewed.
const POLICY: Shape = AnyOf(&[
    Message("GetPolicyResponse"),
    Object(&[
        always(
            "changes",
            List(&Beside("PolicyFigure", &[always("make", Text)])),
        ),
        always("entries", List(&Message("Entry"))),
    ]),
]);

const BACKUP: Shape = Object(&[
    always("bookId", Text),
    always("incarnationId", Text),
    always("headSeq", Whole),
    always("headChain", Text),
    always("madeTime", Moment),
    always("fileCount", Whole),
    always("byteCount", Whole),
]);

/// How two histories stand to each other.
const HISTORIES: Shape = Word(&["AGREE", "MISSING", "DIFFERENT", "OTHER_INCARNATION"]);

/// What was found; with `--against` also how it stands to a backup.
const VERIFIED_AGAINST: Shape = Beside(
    "VerifyBookResponse",
    &[maybe(
        "against",
        Object(&[
            always("backup", BACKUP),
            always("bookHeadSeq", Whole),
            always("histories", HISTORIES),
            always("firstSeq", Whole),
        ]),
    )],
);

const BACKED_UP: Shape = Object(&[
    always("to", Text),
    always("backup", BACKUP),
    always("readOnlyReason", Text),
    always("removed", List(&Text)),
    always("left", List(&Text)),
]);

const RESTORED: Shape = Object(&[
    always("to", Text),
    always("backup", BACKUP),
    always("verified", Message("VerifyBookResponse")),
]);

/// What can be kept of a book, or with `--accept-end` what was cut off.
const MENDED: Shape = AnyOf(&[
    Object(&[
        always("from", Text),
        always("to", Text),
        always("mend", MEND),
        always("written", Flag),
        always("verified", AnyOf(&[Message("VerifyBookResponse"), Null])),
    ]),
    Object(&[
        always("from", Text),
        always("acceptedEndSeq", Number),
        always("cutOffByteCount", Number),
        always("verified", Message("VerifyBookResponse")),
    ]),
]);

const MEND: Shape = Object(&[
    always("bookId", Text),
    always("headSeq", Whole),
    always("headChain", Text),
    always("damage", Text),
    always("firstBadSeq", Whole),
    always(
        "fromBackup",
        List(&Object(&[
            always("firstSeq", Whole),
            always("lastSeq", Whole),
        ])),
    ),
    always(
        "leftOut",
        List(&Object(&[
            always("file", Text),
            always("offset", Whole),
            always("byteCount", Whole),
            always("why", Text),
        ])),
    ),
    always("backupHistories", HISTORIES),
    always("backupFirstSeq", Whole),
    always("onlyTorn", Flag),
]);

const FILE: Shape = Object(&[always("file", Text), always("count", Number)]);

const EXPORTED: Shape = Object(&[always("folder", Text), always("files", List(&FILE))]);

/// A notebook of pads, a folder of files, or the notebook to fill in.
const IMPORTED: Shape = AnyOf(&[
    Message("ImportPadsResponse"),
    Object(&[
        always("dryRun", Flag),
        always("imported", List(&FILE)),
        always(
            "passedOver",
            List(&Object(&[
                always("file", Text),
                always("id", Text),
                always("why", Text),
            ])),
        ),
        always("leftBehind", Anything),
    ]),
    Object(&[always("template", Text)]),
]);

const OPENED: Shape = Object(&[
    always("device", Text),
    always("address", Text),
    always("bookId", Text),
    always("book", Text),
    always("process", AnyOf(&[Number, Null])),
    always("codes", List(&Message("InviteDeviceResponse"))),
]);

/// This device as it was paired, or with `--name` the code for another.
const PAIRED: Shape = AnyOf(&[
    Object(&[
        always("address", Text),
        always("device", Text),
        always("role", Text),
        always("bookId", Text),
        always("fingerprint", Text),
        always("folder", Text),
        always("copySeq", AnyOf(&[Number, Null])),
    ]),
    Message("InviteDeviceResponse"),
]);

const DEVICES: Shape = AnyOf(&[
    Message("ListDevicesResponse"),
    Message("RevokeDeviceResponse"),
    Message("UpdateDeviceResponse"),
]);

const CODES: Shape = AnyOf(&[
    Message("ListCodesResponse"),
    Message("WithdrawCodeResponse"),
]);

/// Where a script finds its key, and whom it calls.
const EXPORTED_KEY: Shape = Object(&[
    always("name", Text),
    always("role", Text),
    always("address", Text),
    always("serverName", Text),
    always("certificate", Text),
    always("token", Text),
]);

const SYNCED: Shape = Object(&[
    always(
        "sent",
        List(&Object(&[
            always("number", Number),
            always("seq", Number),
            always("told", Text),
            always("requestId", Text),
            always("flags", List(&Text)),
        ])),
    ),
    always("dropped", List(&HELD)),
    always("waiting", List(&HELD)),
    always("parked", List(&REFUSED)),
    always("news", List(&Text)),
    always("missed", List(&HELD)),
    maybe(
        "copy",
        Object(&[
            always("bookId", Text),
            always("incarnationId", Text),
            always("headSeq", Number),
            always("asOfTime", Moment),
        ]),
    ),
    maybe("error", FAULT),
    maybe(
        "mended",
        Object(&[always("damaged", Text), always("lost", Anything)]),
    ),
]);

/// What is well and what is not, and what the service said of itself.
const DOCTOR: Shape = Object(&[
    always("well", Flag),
    always("reached", Flag),
    always(
        "lines",
        List(&Object(&[
            always("about", Text),
            always("well", Flag),
            always("told", Text),
            always("todo", Text),
        ])),
    ),
    always("condition", AnyOf(&[Message("GetConditionResponse"), Null])),
]);

/// A deed of this device.
const HELD: Shape = Object(&[
    always("number", Number),
    always("told", Text),
    always("keptTime", Text),
]);

/// One that the shop refused.
const REFUSED: Shape = Object(&[
    always("number", Number),
    always("told", Text),
    always("keptTime", Text),
    always("reason", Text),
    always("message", Text),
    always("todo", Text),
]);

/// All that were refused, one of them, or what became of one that was sent again.
const PARKED: Shape = AnyOf(&[
    Object(&[always("parked", List(&REFUSED_WHOLE))]),
    REFUSED_WHOLE,
    Object(&[
        always("number", Number),
        always("seq", AnyOf(&[Number, Null])),
        always("standing", Text),
    ]),
]);

const REFUSED_WHOLE: Shape = Object(&[
    always("number", Number),
    always("told", Text),
    always("keptTime", Text),
    always("reason", Text),
    always("message", Text),
    always("todo", Text),
    always("method", Text),
    always("request", Anything),
]);

/// Where this device looks for its shop, the place to try first at the head.
const WAY: Shape = Object(&[
    always("addresses", List(&Text)),
    always("device", Text),
    always("role", Text),
    always("bookId", Text),
    always("folder", Text),
    always("reached", Flag),
    always("why", AnyOf(&[Text, Null])),
    always("copyAsOfTime", AnyOf(&[Moment, Null])),
]);

const ADDRESS: Shape = Object(&[always("address", Text), always("reached", Flag)]);

const LEFT: Shape = Object(&[
    always("device", Text),
    always("address", Text),
    always("waiting", Number),
]);

const DEMO: Shape = Object(&[
    always("invented", Flag),
    always(
        "scenes",
        List(&Object(&[
            maybe("tell", Text),
            maybe("command", Text),
            always("exitCode", Number),
            maybe("answer", Anything),
        ])),
    ),
]);
