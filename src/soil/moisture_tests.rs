use super::*;
use crate::factor::Factor;

const NOTHING: Evidence = Evidence {
    drainage: None,
    water_table_cm: None,
    available_water_cm: None,
    water_depth_cm: 100.0,
    texture: None,
};

fn class(evidence: Evidence) -> Option<&'static str> {
    moisture(&evidence).map(|found| MOISTURE_CLASSES[usize::from(found.class)])
}

fn drained(class: &str) -> Evidence {
    Evidence {
        drainage: Factor::standard("drainage").unwrap().kind.class_index(class),
        ..NOTHING
    }
}

/// The table as the README prints it.
#[test]
fn the_table_is_this() {
    let drainage = Factor::standard("drainage").unwrap();
    let rows = drainage.kind.classes().unwrap().iter().zip(moisture_table());
    let text: Vec<String> = rows
        .map(|(name, row)| {
            let words = row.map(|class| MOISTURE_CLASSES[usize::from(class)]);
            format!("{name}: {}", words.join(" | "))
        })
        .collect();
    assert_eq!(
        text,
        [
            "excessively drained: dry | dry | dry-mesic",
            "somewhat excessively drained: dry | dry-mesic | dry-mesic",
            "well drained: dry-mesic | mesic | mesic",
            "moderately well drained: mesic | mesic | mesic",
            "somewhat poorly drained: wet-mesic | wet-mesic | wet-mesic",
            "poorly drained: wet-mesic | wet | wet",
            "very poorly drained: wet | wet | wet",
        ]
    );
    let moisture = Factor::standard("moisture").unwrap();
    assert_eq!(moisture.kind.classes().unwrap(), MOISTURE_CLASSES);
}

#[test]
fn drainage_alone_does_not_tell_sand_from_silt_loam() {
    let sand = Evidence {
        texture: Some(Texture::Sand),
        ..drained("well drained")
    };
    let silt_loam = Evidence {
        texture: Some(Texture::SiltLoam),
        ..drained("well drained")
    };
    assert_eq!(class(sand), Some("dry-mesic"));
    assert_eq!(class(silt_loam), Some("mesic"));
    // What is told of water goes before texture: a sand with much humus.
    let humous = Evidence {
        available_water_cm: Some(14.0),
        ..sand
    };
    assert_eq!(class(humous), Some("mesic"));
    // The same water over a deeper soil is little.
    let deep = Evidence {
        water_depth_cm: 150.0,
        ..humous
    };
    assert_eq!(class(deep), Some("dry-mesic"));
}

#[test]
fn neither_more_water_held_nor_worse_drainage_makes_ground_drier() {
    let table = moisture_table();
    for row in &table {
        assert!(row.is_sorted());
    }
    for pair in table.windows(2) {
        assert!((0..3).all(|column| pair[0][column] <= pair[1][column]));
    }
}

#[test]
fn what_is_assumed_is_told_and_only_where_it_matters() {
    let assumed = |drainage| moisture(&drained(drainage)).unwrap().assumed;
    assert_eq!(
        assumed("well drained"),
        Some("a soil that holds a middling amount of water")
    );
    assert_eq!(
        assumed("excessively drained"),
        Some("a soil that holds little water")
    );
    assert_eq!(assumed("very poorly drained"), None);
    assert_eq!(assumed("moderately well drained"), None);
    assert_eq!(class(NOTHING), None);
    let table = Evidence {
        water_table_cm: Some(30.0),
        ..NOTHING
    };
    let found = moisture(&table).unwrap();
    assert_eq!(class(table), Some("wet-mesic"));
    assert_eq!(found.assumed, Some("the drainage that goes with its water table"));
}

/// Depths of free water: USDA Soil Survey Manual (Handbook 18).
#[test]
fn a_shallow_water_table_makes_wetter_and_a_deep_one_not_drier() {
    let at = |drainage, depth_cm| {
        let evidence = Evidence {
            water_table_cm: Some(depth_cm),
            ..drained(drainage)
        };
        let found = moisture(&evidence).unwrap();
        (
            MOISTURE_CLASSES[usize::from(found.class)],
            found.raised_by_water_table,
        )
    };
    assert_eq!(at("excessively drained", 80.0), ("mesic", true));
    assert_eq!(at("well drained", 40.0), ("wet-mesic", true));
    assert_eq!(at("well drained", 20.0), ("wet-mesic", true));
    assert_eq!(at("somewhat poorly drained", 0.0), ("wet", true));
    assert_eq!(at("poorly drained", f64::INFINITY), ("wet", false));
    assert_eq!(at("well drained", 150.0), ("mesic", false));
}

#[test]
fn terrain_moves_by_one_step_and_never_to_the_ends() {
    let nudge = WetnessNudge {
        drier_below: 5.0,
        wetter_from: 10.0,
    };
    let at = |class, index| nudge.nudged(class, index);
    assert_eq!([1.0, 2.0, 3.0].map(|class| at(class, 12.0)), [2.0, 3.0, 3.0]);
    assert_eq!([1.0, 2.0, 3.0].map(|class| at(class, 2.0)), [1.0, 1.0, 2.0]);
    assert_eq!([0.0, 4.0].map(|class| at(class, 12.0)), [0.0, 4.0]);
    assert_eq!([0.0, 4.0].map(|class| at(class, 2.0)), [0.0, 4.0]);
    assert_eq!(at(2.0, 7.0), 2.0);
    assert_eq!(at(2.0, f32::NAN), 2.0);
    assert!(at(f32::NAN, 12.0).is_nan());
}
