//! Questions about traits, on a small catalogue written for them.

use super::tests::run_in;

const SPECIES: &str = "id,scientific_name,common_name,form\n\
    one,Una una,one grass,grass\n\
    two,Dua dua,two tree,tree\n\
    three,Tria tria,three fern,fern\n";
const TRAITS: &str = "species,trait,value,source,note,standing\n\
    one,height_m,0.9,book,,\n\
    one,height_m,1.5,own,,set aside\n\
    two,height_m,12 to 20,book,,\n\
    one,recorded_drought_tolerance,High,book,,\n\
    two,recorded_drought_tolerance,low,book,,\n\
    three,recorded_drought_tolerance,rather low,book,,\n\
    one,moisture_range,dry to mesic,own,,\n\
    two,moisture_range,wet,book,,\n\
    one,bloom_months,about July to August,own,,\n\
    two,bloom_months,April; October,book,,\n\
    one,flower_colour,yellow; reddish purple,book,,\n\
    two,flower_colour,yellow-brown,book,,\n\
    one,feeds,monarch caterpillars; bees,own,,\n\
    two,feeds,songbirds,book,,\n\
    one,present_in,Ohio; Virginia,book,,\n\
    two,present_in,West Virginia,book,,\n\
    one,c_michigan,7,book,,\n\
    two,c_michigan,introduced,book,,\n\
    one,hardiness_zone,4b,book,,\n\
    two,hardiness_zone,5,book,,\n\
    two,toxicity,slight,book,,\n\
    one,plot_number,17,own,,\n\
    two,plot_number,4,own,,\n\
    one,duration,perennial,book,,\n\
    two,duration,annual; biennial,book,,\n";
const TOLERANCES: &str = "species,factor,given,response,source,note\n\
    one,moisture,,classes dry=1; dry-mesic=0.6; mesic=0.3; wet-mesic=0; wet=0,book,\n";
const SOURCES: &str =
    "id,kind,title\nbook,published,A book of plants\nown,from memory,\"From memory, unverified\"\n";

fn folder() -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    for (name, text) in [
        ("species.csv", SPECIES),
        ("traits.csv", TRAITS),
        ("tolerances.csv", TOLERANCES),
        ("sources.csv", SOURCES),
    ] {
        std::fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn asked(words: &[&str]) -> Result<(Vec<String>, Vec<String>), String> {
    let folder = folder();
    let words = [&["list", "--json"], words].concat();
    let (_, text) = run_in(folder.path(), &words).map_err(|error| error.to_string())?;
    let told: serde_json::Value = serde_json::from_str(&text).unwrap();
    let ids = |key: &str| {
        let species = told[key].as_array().unwrap().iter();
        species
            .map(|one| one["id"].as_str().unwrap().to_owned())
            .collect()
    };
    Ok((ids("species"), ids("unknown")))
}

/// The species of which a question holds, and those of which nobody knows.
fn held(question: &str) -> (Vec<String>, Vec<String>) {
    asked(&["--where", question]).unwrap_or_else(|error| panic!("{question}: {error}"))
}

fn fault(question: &str) -> String {
    asked(&["--where", question]).unwrap_err()
}

#[test]
fn each_kind_of_value_is_compared_as_what_it_is() {
    for (question, wanted, unknown) in [
        ("height_m < 1", "one", "three"),
        ("height < 3 ft", "one", "three"),
        ("height_m >= 15", "two", "three"),
        ("height_m>20", "", "three"),
        ("height_m != 0.9", "two", "three"),
        ("recorded_drought_tolerance >= medium", "one", "three"),
        ("recorded_drought_tolerance < MEDIUM", "two", "three"),
        ("moisture_range = dry-mesic", "one", "three"),
        ("moisture_range >= wet-mesic", "two", "three"),
        ("moisture_range has mesic", "one", "three"),
        ("bloom_months > June", "one two", "three"),
        ("bloom_months >= Aug", "one two", "three"),
        ("bloom_months = July", "one", "three"),
        ("bloom_months has October", "two", "three"),
        ("flower_colour = yellow", "one", "three"),
        ("flower_colour != yellow", "two", "three"),
        ("flower_colour has yellow", "one two", "three"),
        ("flower_colour has red", "one", "three"),
        ("feeds has monarch", "one", "three"),
        ("feeds has birds", "", "three"),
        ("present_in has Virginia", "one", "three"),
        ("present_in has wv", "two", "three"),
        ("c_michigan >= 5", "one", "three"),
        ("c_michigan < 5", "", "three"),
        ("c_michigan = introduced", "two", "three"),
        ("c_michigan != introduced", "one", "three"),
        ("hardiness_zone <= 4", "one", "three"),
        ("hardiness_zone > 4", "two", "three"),
        ("toxicity is missing", "one three", ""),
        ("toxicity missing", "one three", ""),
        ("toxicity is known", "two", ""),
        ("plot_number > 4", "one", "three"),
        ("plot_number = 4", "two", "three"),
        ("duration = annual", "two", "three"),
        ("form = Fern", "three", ""),
        ("scientific_name has dua", "two", ""),
    ] {
        let (found, not_known) = held(question);
        assert_eq!(
            (found.join(" "), not_known.join(" ")),
            (wanted.to_owned(), unknown.to_owned()),
            "{question}"
        );
    }
}

#[test]
fn all_questions_must_hold_and_one_that_does_not_settles_it() {
    let both = asked(&["--where", "height_m < 1", "--where", "bloom_months > June"]).unwrap();
    assert_eq!(both, (vec!["one".to_owned()], vec!["three".to_owned()]));
    let settled = asked(&["--where", "height_m < 1", "--where", "form = grass"]).unwrap();
    assert_eq!(settled, (vec!["one".to_owned()], vec![]));
    let dry = asked(&["--where", "height_m < 1", "--stands", "moisture=dry"]).unwrap();
    assert_eq!(dry, (vec!["one".to_owned()], vec!["three".to_owned()]));
}

#[test]
fn what_cannot_be_asked_is_told_with_what_can() {
    for (question, words) in [
        ("hight_m < 1", "did you mean `height_m`?"),
        ("plants < 1", "did you mean `plants_per_ha`?"),
        ("zzz = 1", "there are bloom_months,"),
        ("height_m < tall", "needed a number in m"),
        ("height_m < 3 kg", "needed a number in m"),
        ("height_m has 3", "ask with <"),
        (
            "recorded_drought_tolerance >= mediun",
            "none, low, medium, high; did you mean `medium`?",
        ),
        ("bloom_months >= spring", "January, February"),
        ("duration = perenial", "did you mean `perennial`?"),
        ("form = bush", "tree, shrub, grass, forb, fern"),
        ("flower_colour > red", "which have no order"),
        ("present_in has Ohoi", "did you mean `Ohio`?"),
        ("c_michigan >= native", "0 to 10, or introduced"),
        ("hardiness_zone < cold", "4 or 4b"),
        ("toxicity", "needs a trait"),
        ("< 3", "needs a trait"),
        ("height_m <", "needs a trait"),
    ] {
        let told = fault(question);
        assert!(told.contains(words), "{question}: {told}");
    }
}

#[test]
fn columns_are_those_that_are_asked_for() {
    let folder = folder();
    let printed = |words: &[&str]| run_in(folder.path(), words).unwrap().1;
    let named = printed(&["list", "--columns", "id, height_m,feeds,factors", "--units", "us"]);
    let wanted = [
        "id     height           feeds                        opinions on",
        "one    2.95 ft          monarch caterpillars; bees*  moisture",
        "two    39.4 to 65.6 ft  songbirds",
        "three",
        "3 of 3 species",
        "* from memory, unverified",
    ];
    // The catalogue has an error, `rather low`, which is told below the list.
    let list: Vec<&str> = named.lines().take_while(|line| !line.is_empty()).collect();
    assert_eq!(list, wanted);
    let usual = printed(&[
        "list",
        "--where",
        "duration = perennial",
        "--stands",
        "moisture=dry-mesic",
    ]);
    assert!(
        usual.starts_with("id   common name  form   height  flowers") && usual.contains("perennial  S2 0.60"),
        "{usual}"
    );
    assert!(run_in(folder.path(), &["list", "--columns", "hieght_m"]).is_err());
}
