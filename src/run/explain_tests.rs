//! Explanations at places of the sample site, held against the rating itself.

use std::path::Path;

use super::*;
use crate::project::Project;

fn sample() -> Project {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("sample-data/project.toml");
    Project::read(&file).unwrap()
}

fn why(prepared: &Prepared, cell: CellIndex) -> Why {
    let (x, y) = prepared.site.grid().cell_to_map(cell);
    Why { x, y, lon_lat: false }
}

/// Some cells with this status, evenly spread; the site is one band.
fn cells_with(prepared: &Prepared, status: u8, most: usize) -> Vec<CellIndex> {
    let grid = prepared.site.grid();
    let band = prepared.site.read_tile(grid.bands().next().unwrap()).unwrap();
    let all = (0..grid.cells()).map(|index| CellIndex {
        row: index / grid.cols(),
        col: index % grid.cols(),
    });
    let found: Vec<CellIndex> = all
        .filter(|&cell| band.status.get(cell) == Some(status))
        .collect();
    let step = (found.len() / most).max(1);
    found.into_iter().step_by(step).take(most).collect()
}

#[test]
fn every_answer_is_that_of_the_rating() {
    let project = sample();
    let prepared = Prepared::open(&project).unwrap();
    let wanted = prepared.settings.wanted();
    let cells = cells_with(&prepared, TO_RATE, 12);
    assert_eq!(cells.len(), 12);
    for cell in cells {
        let told = prepared.explain(why(&prepared, cell), None).unwrap();
        assert_eq!((told.row, told.col, &told.not_rated), (cell.row, cell.col, &None));
        assert_eq!(told.species.len(), prepared.catalogue.species.len());
        for here in &told.species {
            let scores: Vec<f64> = here.answers.iter().filter_map(|answer| answer.score).collect();
            let lowest = scores.iter().copied().fold(1.0, f64::min);
            assert_eq!(here.of, prepared.questions.questions().len());
            assert_eq!(here.answers.len(), here.of);
            let unknown = here
                .answers
                .iter()
                .any(|answer| answer.note.is_some_and(|note| note.starts_with("unknown")));
            let state = match here.rating {
                None => "not known",
                Some(rating) if rating >= wanted => "suits",
                Some(_) => "does not suit",
            };
            assert_eq!(here.state, state);
            assert_eq!(here.class.is_some(), here.rating.is_some());
            // The sample's rule is that of the lowest score.
            match here.rating {
                Some(rating) => {
                    assert_eq!((rating, here.rests_on), (lowest, scores.len()));
                    assert!(!unknown || lowest < wanted, "{}", here.id);
                }
                None => assert!(unknown && lowest >= wanted, "{}", here.id),
            }
            for answer in &here.answers {
                assert_eq!(answer.score.is_some(), answer.note.is_none());
                assert_eq!(answer.limits, answer.score.is_some_and(|score| score < wanted));
                assert_eq!(answer.needed.is_some(), answer.limits);
            }
        }
        let classes: Vec<_> = told
            .species
            .iter()
            .map(|here| (here.class.is_none(), here.class))
            .collect();
        assert!(classes.is_sorted(), "best first, not known last: {classes:?}");
    }
}

#[test]
fn a_place_is_the_same_in_degrees_and_in_metres() {
    let project = sample();
    let prepared = Prepared::open(&project).unwrap();
    let cell = cells_with(&prepared, TO_RATE, 1)[0];
    let metres = prepared.explain(why(&prepared, cell), Some("red maple")).unwrap();
    let place = Why {
        x: metres.lon,
        y: metres.lat,
        lon_lat: true,
    };
    let degrees = prepared.explain(place, Some("acer-rubrum")).unwrap();
    assert_eq!((degrees.row, degrees.col), (metres.row, metres.col));
    assert_eq!(degrees.species.len(), 1);
    assert_eq!(degrees.species[0].rating, metres.species[0].rating);
}

#[test]
fn a_place_that_is_not_rated_says_why() {
    let project = sample();
    let prepared = Prepared::open(&project).unwrap();
    let cause = |status| {
        let cell = cells_with(&prepared, status, 1)[0];
        prepared.explain(why(&prepared, cell), None).unwrap().not_rated
    };
    assert_eq!(cause(OUTSIDE).as_deref(), Some("outside the boundary"));
    assert_eq!(cause(EXCLUDED).as_deref(), Some("excluded: pavement"));
    assert_eq!(cause(EXCLUDED + 1).as_deref(), Some("excluded: creek"));
}

#[test]
fn a_place_or_a_species_that_is_not_there_is_an_error() {
    let project = sample();
    let prepared = Prepared::open(&project).unwrap();
    let far = Why {
        x: 0.0,
        y: 0.0,
        lon_lat: false,
    };
    let error = prepared.explain(far, None).unwrap_err();
    assert!(matches!(error, Error::OutsideGrid { .. }), "{error}");
    let cell = cells_with(&prepared, TO_RATE, 1)[0];
    let error = prepared
        .explain(why(&prepared, cell), Some("acer-rubrun"))
        .unwrap_err();
    assert!(error.to_string().contains("acer-rubrum"), "{error}");
}
