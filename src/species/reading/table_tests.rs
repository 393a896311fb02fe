//! Spreadsheet files as people save them, and as they break.

use std::path::Path;

use proptest::prelude::*;

use super::table::Table;
use crate::species::problem::{Problem, Report};

fn parse(bytes: &[u8]) -> (Table, Vec<Problem>) {
    let mut problems = Vec::new();
    let mut report = Report::new(Path::new("t.csv"), &mut problems);
    let table = Table::parse(bytes, &["id", "kind"], &["note"], true, &mut report);
    (table, problems)
}

fn rows(table: &Table) -> Vec<(u64, String, String, String)> {
    let cell = |row: &super::table::Row, name| row.cell(table.column(name)).to_owned();
    table
        .rows
        .iter()
        .map(|row| (row.line, cell(row, "id"), cell(row, "kind"), cell(row, "note")))
        .collect()
}

fn row(line: u64, id: &str, kind: &str, note: &str) -> (u64, String, String, String) {
    (line, id.to_owned(), kind.to_owned(), note.to_owned())
}

fn told(bytes: &[u8]) -> String {
    parse(bytes)
        .1
        .iter()
        .map(|problem| format!("{}: {problem}\n", problem.severity))
        .collect::<Vec<_>>()
        .concat()
}

#[test]
fn the_same_table_reads_from_every_program() {
    let expected = vec![row(2, "a", "x, y", "it's \"so\""), row(3, "b", "z", "")];
    let plain = "id,kind,note\na,\"x, y\",\"it's \"\"so\"\"\"\nb,z,\n";
    let forms: Vec<(&str, Vec<u8>)> = vec![
        ("plain", plain.into()),
        ("mark", format!("\u{feff}{plain}").into()),
        ("dos", plain.replace('\n', "\r\n").into()),
        ("old mac", plain.replace('\n', "\r").into()),
        (
            "semicolons",
            b"id;kind;note\na;x, y;\"it's \"\"so\"\"\"\nb;z;\n".to_vec(),
        ),
        ("tabs", b"id\tkind\tnote\na\tx, y\tit's \"so\"\nb\tz\t\n".to_vec()),
        (
            "capitals",
            b"ID , Kind,NOTE\na,\"x, y\",\"it's \"\"so\"\"\"\nb,z,\n".to_vec(),
        ),
        (
            "other order",
            b"note,kind,id\n\"it's \"\"so\"\"\",\"x, y\",a\n,z,b\n".to_vec(),
        ),
        (
            "trailing",
            b"id,kind,note,,\na,\"x, y\",\"it's \"\"so\"\"\",,\nb,z,,,\n,,,,\n".to_vec(),
        ),
    ];
    for (name, bytes) in forms {
        let (table, problems) = parse(&bytes);
        assert_eq!(rows(&table), expected, "{name}");
        assert_eq!(problems, [], "{name}");
    }
    let utf16: Vec<u8> = format!("\u{feff}{plain}")
        .encode_utf16()
        .flat_map(u16::to_le_bytes)
        .collect();
    assert_eq!(rows(&parse(&utf16).0), expected);
}

#[test]
fn line_numbers_are_those_of_the_file() {
    let (table, problems) = parse(b"\n\nid,kind\n\na,\"one\ntwo\"\n\n\n,\nb,x\n");
    assert_eq!(table.header_line, 3);
    assert_eq!(rows(&table).iter().map(|row| row.0).collect::<Vec<_>>(), [5, 10]);
    assert_eq!(problems, []);
    let (table, _) = parse(b"sep=;\nid;kind\na;x\n");
    assert_eq!(rows(&table), [row(3, "a", "x", "")]);
}

#[test]
fn western_bytes_are_read_with_a_warning() {
    let (table, problems) = parse(b"id,kind\na,Alv\xe9n\n");
    assert_eq!(rows(&table), [row(2, "a", "Alv\u{e9}n", "")]);
    assert!(
        problems[0].to_string().starts_with("t.csv:2: is not UTF-8"),
        "{}",
        problems[0]
    );
    assert!(!problems[0].is_error());
}

#[test]
fn uneven_rows_are_told() {
    let told = told(b"id,kind,note\na,x,drainage: wet, dry\nb,x\n");
    assert!(
        told.contains("error: t.csv:2: has 4 cells under 3 headers: put a cell that holds `,`"),
        "{told}"
    );
    assert!(
        told.contains("warning: t.csv:3, column `note`: the row ends after 2 of 3"),
        "{told}"
    );
}

#[test]
fn headers_are_checked() {
    let told = told(b"id,knd,note,Note,hint,\na,x,,,,7\n");
    assert!(
        told.contains("column `kind`: is missing; `knd` looks like it"),
        "{told}"
    );
    assert!(told.contains("column `Note`: stands twice"), "{told}");
    assert!(
        told.contains("warning: t.csv:1, column `hint`: is no column of this file"),
        "{told}"
    );
    assert!(told.contains("column 6 has values but no header"), "{told}");
}

#[test]
fn a_file_with_no_known_separator_says_so() {
    assert!(told(b"id|kind\na|b\n").contains("are the columns parted by"));
}

#[test]
fn an_open_quote_is_told_where_it_opens() {
    assert!(told(b"id,kind\na,\"x\nb,y\nc,z\n").contains("t.csv:2: a double quote opens here"));
    // Quotes inside a cell are inches, not quotes.
    assert_eq!(told(b"id,kind\na,3\" pot\nb,4\"\" pot\n"), "");
}

#[test]
fn an_empty_file_says_what_it_needs() {
    assert!(told(b"").contains("is empty; it needs the columns id, kind"));
    assert!(told(b"\n \n").contains("is empty"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2000))]

    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = parse(&bytes);
    }

    #[test]
    fn no_table_like_text_makes_the_reader_panic(text in "[idkn,;\t\"\r\n =\u{e9}\u{feff}]{0,80}") {
        let (table, _) = parse(text.as_bytes());
        // A row never stands beyond the last line.
        let lines = text.replace("\r\n", "\n").replace('\r', "\n").matches('\n').count() as u64 + 1;
        prop_assert!(table.rows.iter().all(|row| row.line >= 1 && row.line <= lines));
    }
}
