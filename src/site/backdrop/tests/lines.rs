//! Lines with their names and kinds, thinned.

use super::*;

#[test]
fn lines_are_named_thinned_and_cut_down_to_the_site() {
    let folder = folder();
    let file = |name: &str| folder.path().join(name);
    // Winds by half a metre from 500 m west of the site to its middle.
    let winding: Vec<(f64, f64)> = (0..7_000)
        .map(|step| (-500.0 + 0.1 * f64::from(step), 150.0 + 0.5 * f64::from(step % 2)))
        .collect();
    let elsewhere = [(0.0, 5_000.0), (400.0, 5_000.0)];
    layer(
        &file("roads.geojson"),
        &[("LineString", &winding), ("LineString", &elsewhere)],
    );
    let pond = [
        (50.0, 50.0),
        (90.0, 50.0),
        (90.0, 90.0),
        (70.0, 90.5),
        (50.0, 90.0),
        (50.0, 50.0),
    ];
    let puddle = [(200.0, 200.0), (201.0, 200.0), (201.0, 201.0), (200.0, 200.0)];
    layer(
        &file("water.geojson"),
        &[
            ("Polygon", &pond),
            ("Polygon", &puddle),
            ("LineString", &[(0.0, 10.0), (300.0, 20.0)]),
        ],
    );
    layer(
        &file("trails.geojson"),
        &[("LineString", &[(0.0, 30.0), (300.0, 30.0)]), ("Polygon", &pond)],
    );
    let rest = "[road_salt]\nroads = \"roads.geojson\"\nclass_attribute = \"class\"\nwinter_wind_from = \"N\"\n\
        [factors.trail]\nkind = \"measured\"\nunit = \"m\"\ndistance_to = \"trails.geojson\"\nreach_m = 100\n\
        [factors.spray_salt]\nfrom = \"road_salt\"\n\
        [[exclude]]\nname = \"pavement\"\nlayer = \"roads.geojson\"\nwidth_m = 8\n\
        [[exclude]]\nname = \"water\"\nlayer = \"water.geojson\"\nwidth_m = 2\n";
    let backdrop = read(&folder, rest, WANTED).unwrap();
    assert_eq!(backdrop.heights, None);
    let told: Vec<(&str, LineKind, Vec<usize>)> = backdrop
        .lines
        .iter()
        .map(|layer| {
            let points = layer.lines.iter().map(Vec::len).collect();
            (layer.name.as_str(), layer.kind, points)
        })
        .collect();
    // The roads come once, thinned a thousand points at a time; of the trails' layer the lines alone; the puddle is too small.
    assert_eq!(
        told,
        [
            ("boundary", LineKind::Boundary, vec![5]),
            ("roads", LineKind::Road, vec![4]),
            ("water", LineKind::KeepOut, vec![5, 2]),
            ("trail", LineKind::DistanceFrom, vec![2]),
        ]
    );
    let road = &backdrop.lines[1].lines[0];
    let (first, last) = (road[0].0 - WEST, road[3].0 - WEST);
    assert!((-40.2..=-40.0).contains(&first), "{first}");
    assert!((last - 199.9).abs() < 1e-6, "{last}");
    let ring = &backdrop.lines[2].lines[0];
    assert_eq!(ring[0], ring[4]);
    assert_eq!(ring[2], (WEST + 90.0, SOUTH + 90.0));
    // Nothing is thinned without a tolerance.
    let wanted = BackdropWanted {
        tolerance_m: 0.0,
        ..WANTED
    };
    let all = read(&folder, rest, wanted).unwrap();
    let points: Vec<usize> = all.lines[2].lines.iter().map(Vec::len).collect();
    assert_eq!(points, [6, 4, 2]);
    assert!((2_400..=2_402).contains(&all.lines[1].lines[0].len()));
}
