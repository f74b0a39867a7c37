//! Everything that may be wrong with files, named where it stands.

use super::*;

#[test]
fn every_cell_that_cannot_be_read_is_named_by_file_line_and_column() {
    let told = problems_of(&[
        (
            "makes.csv",
            "make,name,price.amount,price.currency_code,pad.material,pad.face_mm,plate.thread,\
             machine.spot\n\
             a,A,18.90,EUR,velvet,150,,\n\
             \n\
             b,\"B,\nin two lines\",\"18,90\",Euro,wool,150 mm,,\n\
             c,C,18.90,,wool,150,M8,\n\
             d,D,,,,,,maybe\n\
             ,E,,,wool,150,,\n\
             a,A,,,wool,150,,\n\
             f,F,,,,,,\n\
             g,G\n",
        ),
        (
            "kit.csv",
            "date,tag,make,bottle.expiry_date\n2.10.2026,P-01,a,\n2026-10-02,B-01,a,2027-13-01\n",
        ),
    ]);
    insta::assert_snapshot!(told.join("\n"), @r"
    makes.csv line 11: The line has 2 cells and the header 8; see its commas and quotes.
    makes.csv line 2, column pad.material: 'velvet' is not one of thin-foam, thick-foam, microfibre, wool, applicator.
    makes.csv line 4, column price.amount: '18,90' is not an amount such as 18.90, with a point and no thousands mark.
    makes.csv line 4, column price.currency_code: 'Euro' is not a currency by its ISO 4217 code, such as EUR.
    makes.csv line 4, column pad.face_mm: '150 mm' is not a whole number such as 12, without a unit or a thousands mark.
    makes.csv line 6, column price.currency_code: It is empty beside price.amount; give both or neither.
    makes.csv line 6, column plate.thread: The line is of a pad, which has no plate.thread.
    makes.csv line 7, column machine.spot: 'maybe' is not yes or no.
    makes.csv line 8, column make: The cell is empty; every line begins with its id.
    makes.csv line 9, column make: a is there twice.
    kit.csv line 2, column date: '2.10.2026' is not a date such as 2026-10-02.
    kit.csv line 3, column bottle.expiry_date: '2027-13-01' is not a date such as 2026-10-02.
    makes.csv line 7: The line has no figures; fill in those of its sort, such as pad.face_mm.
    makes.csv line 10: The line has no figures; fill in those of its sort, such as pad.face_mm.
    kit.csv line 3, column make: a is a pad; the line has figures of another sort.
    ");
}

#[test]
fn a_name_that_leads_nowhere_is_named_where_it_stands() {
    let told = problems_of(&[
        (
            "makes.csv",
            "make,pad.material,pad.face_mm\nfoam,wool,150\n",
        ),
        (
            "routines.csv",
            "routine,towel_make,steps.step,steps.pad_make,sundries.make\n\
             two,towle,cut,foam,gloves\n\
             two,,finish,faom,\n",
        ),
        ("offers.csv", "supplier,make,pack_count\ntern,foam,2\n"),
        (
            "kit.csv",
            "tag,make,bottle.left_ul\nP-01,foam,5\nP-02,faom,\nP-03,,\n",
        ),
        (
            "jobs.csv",
            "start_time,job,car,routine\n2026-12-01T08:00:00+01:00,a,car,two\nthu 08:00,b,,\n",
        ),
    ]);
    insta::assert_snapshot!(told.join("\n"), @r"
    jobs.csv line 3, column start_time: 'thu 08:00' is not a time with its offset from UTC, such as 2026-11-26T08:00:00+01:00.
    routines.csv line 2, column towel_make: No make goes by towle, neither in makes.csv nor in the book.
    routines.csv line 3, column steps.pad_make: No make goes by faom, neither in makes.csv nor in the book.
    routines.csv line 2, column sundries.make: No make goes by gloves, neither in makes.csv nor in the book.
    offers.csv line 2, column supplier: No supplier goes by tern, neither in suppliers.csv nor in the book.
    kit.csv line 2, column make: foam is a pad; the line has figures of another sort.
    kit.csv line 3, column make: No make goes by faom, neither in makes.csv nor in the book.
    kit.csv line 4, column make: The cell is empty; every piece is of a make.
    jobs.csv line 2, column car: No car goes by car, neither in cars.csv nor in the book.
    ");
}

#[test]
fn a_header_that_is_not_understood_is_named_and_a_column_may_be_left_out() {
    assert_eq!(problems_of(&[("cars.csv", "car,class\na,city\n")]), [""; 0]);
    let told = problems_of(&[
        ("cars.csv", "car|class\na|city\n"),
        ("jobs.csv", "name,car,car\n"),
        ("suppliers.csv", "supplier,lead days\n"),
    ]);
    insta::assert_snapshot!(told.join("\n"), @r"
    cars.csv line 1, column car|class: There is no such column. README.txt of an export says what there is; the first are car, class, note, length_mm.
    cars.csv line 1, column car: The column is missing.
    suppliers.csv line 1, column lead days: There is no such column. README.txt of an export says what there is; the first are supplier, name, lead_days, min_order.amount.
    jobs.csv line 1, column name: There is no such column. README.txt of an export says what there is; the first are start_time, second_start_time, job, car.
    jobs.csv line 1, column car: The column is there twice.
    jobs.csv line 1, column job: The column is missing.
    ");
}

#[test]
fn a_further_line_holds_the_next_of_a_list_and_nothing_else() {
    let cars = "car,class,note,panels.panel,panels.left_out\n\
                a,city,red,roof,yes\n\
                b,van,,,\n\
                a,,,bonnet,no\n";
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("cars.csv"), cars).unwrap();
    let (found, problems) = read(folder.path()).unwrap();
    assert_eq!(problems, []);
    let panels: Vec<_> = found.cars[0]
        .what
        .panels
        .iter()
        .map(|panel| (panel.panel.as_str(), panel.left_out))
        .collect();
    assert_eq!(panels, [("roof", true), ("bonnet", false)]);
    assert_eq!(found.cars[0].within, [[2, 4]]);
    let told = problems_of(&[("cars.csv", &cars.replace("a,,,bonnet", "a,van,,bonnet"))]);
    assert_eq!(told.len(), 1);
    assert!(
        told[0].starts_with("cars.csv line 4, column class:"),
        "{told:?}"
    );
}

#[test]
fn a_folder_without_any_of_the_files_is_refused_and_one_with_some_is_not() {
    let folder = tempfile::tempdir().unwrap();
    let fault = read(folder.path()).unwrap_err();
    assert!(fault.message.contains("makes.csv"), "{}", fault.message);
    assert!(read(&folder.path().join("none")).is_err());
    fs::write(folder.path().join("kit.csv"), b"tag\xff\n").unwrap();
    let fault = read(folder.path()).unwrap_err();
    assert!(fault.message.contains("UTF-8"), "{}", fault.message);
    fs::write(folder.path().join("kit.csv"), "tag,make\n").unwrap();
    assert_eq!(read(folder.path()).unwrap().0, Found::default());
}
