//! Tables as people type them from a manual: titles, boxes, merged cells, empty holders, loose words.

use halfsplit::advice;
use halfsplit::feeds::Feeds;
use halfsplit::problem::Problem;
use halfsplit::table::{self, How, Read};
use halfsplit::vehicle::{FuseStyle, PartKind, Vehicle};

const PLAIN: How = How {
    fill_down: false,
    place_in_id: false,
};
const FILLED: How = How {
    fill_down: true,
    ..PLAIN
};

fn read(table: &str, how: How) -> Read {
    table::read(table, &Vehicle::named("from a table".to_owned()), how)
}

/// The tree, and what was doubtful, each with its cells.
fn taken(table: &str, how: How) -> (Feeds, Vec<String>) {
    let read = read(table, how);
    let said = read.problems.iter().map(|p| p.message().to_owned());
    let said: Vec<_> = said.collect();
    (read.feeds.unwrap_or_else(|| panic!("{said:#?}")), said)
}

/// Each part as `id kind feed place`.
fn rows(feeds: &Feeds) -> Vec<String> {
    let row = |id| {
        let part = feeds.part(id);
        let up = feeds.up(id).map_or("-", |up| feeds.id(up));
        let place = part.at.as_ref().map_or("-", |at| at.value.as_str());
        format!("{} {} {up} {place}", part.id.value, part.kind.word())
    };
    feeds.parts().map(row).collect()
}

#[test]
fn sixty_fuses_as_they_were_typed_are_a_tree_at_once() {
    let table = include_str!("../table-problems/guessed--sixty-fuses.csv");
    let read = read(table, FILLED);
    let feeds = read.feeds.unwrap();
    assert_eq!(read.spare, ["F16", "F20", "F43"]);
    let count = |kind| {
        let parts = feeds.parts().filter(|id| feeds.part(*id).kind == kind);
        parts.count()
    };
    assert_eq!(
        (
            count(PartKind::Fuse),
            count(PartKind::Link),
            count(PartKind::Relay)
        ),
        (50, 5, 3)
    );
    let everywhere = |id| feeds.part(id).at.is_some();
    assert!(feeds.parts().all(everywhere), "merged cells are filled");
    // All that would be asked beside the unknown draws is the holder that the table calls empty.
    assert_eq!(advice::missing_numbers(&feeds), [["F16"]]);
}

#[test]
fn a_title_and_headings_over_each_box_are_no_parts() {
    let table = "\
Coach (invented),,,
,,,
Fuse,Amps,Feed,Circuit
battery,,,
F1,10,battery,horn
Rear box,,,
Fuse,Amps,Feed,Circuit
F2,15,battery,lamps
";
    let (feeds, said) = taken(table, PLAIN);
    let expected = [
        "battery Battery - -",
        "F1 Fuse battery -",
        "F2 Fuse battery -",
    ];
    assert_eq!(rows(&feeds), expected);
    let expected = [
        "A1: this stands above the headings, so nothing is read from it",
        "A5: no kind; taken for a Fuse, because it has a rating or a style; likewise A8",
        "A6: taken for a heading, so nothing is read from this row; likewise A7",
    ];
    assert_eq!(said, expected);
}

#[test]
fn feeds_are_found_by_what_people_call_them() {
    let table = "\
id;kind;fed by;style
Battery;;;
L1;;B+;midi
l2;Link;Terminal 30;
K15 relay;;BATTERY;
F1;Fuse;k15  Relay;mini blade
F2;Fuse;L2;low profile cartridge
";
    let (feeds, said) = taken(table, PLAIN);
    let expected = [
        "Battery Battery - -",
        "L1 Link Battery -",
        "l2 Link Battery -",
        "F2 Fuse l2 -",
        "K15 relay Relay Battery -",
        "F1 Fuse K15 relay -",
    ];
    assert_eq!(rows(&feeds), expected);
    let expected = [
        "A3: no kind; taken for a Link, because its style is bolted",
        "C3: no row has the id `B+`; taken for `Battery`",
        "C4: no row has the id `Terminal 30`; taken for `Battery`",
        "A5: no kind; taken for a Relay, because it is called a relay",
        "C5: no row has the id `BATTERY`; taken for `Battery`",
        "C6: no row has the id `k15  Relay`; taken for `K15 relay`",
        "C7: no row has the id `L2`; taken for `l2`",
    ];
    assert_eq!(said, expected);
}

#[test]
fn of_two_names_alike_none_is_taken() {
    let table = "id,kind,fed by\nbattery,Battery,\nf1,Fuse,battery\nF1,Fuse,battery\nlamp,Load,\"F 1\"\nhorn,Load,F1\n";
    let read = read(&table.replace("\"F 1\"", "\"F1 \""), PLAIN);
    assert!(read.feeds.is_some(), "the exact name is one");
    let table = table.replace("horn,Load,F1", "horn,Load,ff1");
    let read = self::read(&table, PLAIN);
    let said: Vec<_> = read.problems.iter().map(Problem::message).collect();
    assert_eq!(
        said,
        ["C5: no row has the id `F 1`", "C6: no row has the id `ff1`"]
    );
}

#[test]
fn merged_cells_are_filled_when_that_is_said() {
    let table = "\
id,fed by,rating,place
battery,,,bay
F1,battery,10,dash box
F2,,15,
F3,,20,
";
    let refused = read(table, PLAIN);
    assert!(refused.feeds.is_none());
    let said: Vec<_> = refused.problems.iter().map(Problem::message).collect();
    let expected = [
        "A3: no kind; taken for a Fuse, because it has a rating or a style; likewise A4, A5",
        "A4: nothing feeds `F2`; likewise A5",
        "D4: no place, so it is taken to be where its feed is and not at dash box, as the row above; likewise D5",
    ];
    assert_eq!(said, expected);
    let (feeds, _) = taken(table, FILLED);
    let expected = [
        "battery Battery - bay",
        "F1 Fuse battery dash box",
        "F2 Fuse battery dash box",
        "F3 Fuse battery dash box",
    ];
    assert_eq!(rows(&feeds), expected);
}

#[test]
fn a_dash_is_nothing_and_a_spare_is_no_part() {
    let table = "\
id,kind,fed by,rating,plug,note
battery,Battery,-,–,-,-
F1,Fuse,battery,10,-,spare
F2,Fuse,battery,n/a,,
F3,Fuse,battery,spare,,
F4,,,,,Not used
F5,Fuse,battery,not fitted,,
lamp,Load,F5,,,
";
    let read = read(table, PLAIN);
    let feeds = read.feeds.unwrap();
    let names: Vec<_> = feeds.parts().map(|id| feeds.id(id)).collect();
    assert_eq!(names, ["battery", "F1", "F2", "F5", "lamp"]);
    assert_eq!(read.spare, ["F3", "F4"]);
    let all_plain = |id| feeds.part(id).plug.is_none() && feeds.part(id).rating.is_none();
    let plain: Vec<_> = feeds.parts().filter(|id| all_plain(*id)).collect();
    assert_eq!(plain.len(), 4, "F1 alone has a rating, nothing has a plug");
    assert_eq!(feeds.vehicle().parts[0].note.as_deref(), Some("-"));
}

#[test]
fn a_wire_may_have_a_column_for_each_of_its_numbers() {
    let table = "\
id,kind,fed by,wire size,length (mm),metal
battery,Battery,,,,
cable,Cable,battery,16,800,aluminium
wire,Cable,cable,14 awg,2.5 m,
bad,Cable,cable,,2.5 m,
";
    let read = self::read(table, PLAIN);
    let said: Vec<_> = read
        .problems
        .iter()
        .map(|p| (p.message(), p.help()))
        .collect();
    let help = "give the wire size too, in a column `wire size` with its unit: 2.5 mm2 or 14 awg";
    assert_eq!(said, [("E5: this wire has no size", help)]);
    let table = table.replace("bad,Cable,cable,,2.5 m,\n", "");
    let (feeds, _) = taken(&table, PLAIN);
    let back = table::write(feeds.vehicle());
    assert!(back.contains("16 mm2 0.8 m Aluminium"), "{back}");
    assert!(back.contains("14 awg 2.5 m"), "{back}");
}

#[test]
fn the_same_of_many_cells_is_said_once() {
    let rows = (1..=40).map(|n| format!("F{n};Fuse;MF1;ten\n"));
    let table = format!(
        "id;kind;fed by;rating\nbattery;Battery;;\n{}",
        rows.collect::<String>()
    );
    let read = read(&table, PLAIN);
    let said: Vec<_> = read.problems.iter().map(Problem::message).collect();
    assert_eq!(
        said,
        [
            "C3: no row has the id `MF1`; likewise C4 to C42",
            "D3: `ten` is not a current; likewise D4 to D42",
        ]
    );
}

#[test]
fn boxes_that_each_count_from_one_have_their_place_in_front() {
    let table = "\
Fuse #,Rating [A],Circuit(s) protected,Location,Feed
1,30A (maxi),cabin box,bonnet box,battery
2,15 amps,horn,,battery
battery,,,bay,
CABIN BOX,,,,
Fuse #,Rating [A],Circuit(s) protected,Location,Feed
1,10 mini,radio,cabin box,bonnet box 1
2,10,cluster,,bonnet box 1
";
    let refused = read(table, FILLED);
    let said = refused.problems.iter().filter(|p| p.is_error());
    let said: Vec<_> = said.map(Problem::message).collect();
    assert_eq!(said.len(), 3, "{said:#?}");
    let how = How {
        place_in_id: true,
        ..FILLED
    };
    let (feeds, said) = taken(table, how);
    let expected = [
        "battery Battery - bay",
        "bonnet box 1 Fuse battery bonnet box",
        "cabin box 1 Fuse bonnet box 1 cabin box",
        "cabin box 2 Fuse bonnet box 1 cabin box",
        "bonnet box 2 Fuse battery bonnet box",
    ];
    assert_eq!(rows(&feeds), expected);
    let styles: Vec<_> = feeds.parts().map(|id| feeds.part(id).style).collect();
    let (maxi, mini) = (Some(FuseStyle::Maxi), Some(FuseStyle::Mini));
    assert_eq!(styles, [None, maxi, mini, None, None]);
    let lids: Vec<_> = feeds
        .parts()
        .map(|id| feeds.part(id).label.clone())
        .collect();
    assert_eq!(lids[1].as_deref(), Some("1"));
    let expected = [
        "A2: no kind; taken for a Fuse, because it has a rating or a style; likewise A3, A7, A8",
        "A5: taken for a heading, so nothing is read from this row; likewise A6",
    ];
    assert_eq!(said, expected);
}
