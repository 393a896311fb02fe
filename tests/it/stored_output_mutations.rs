//! Finished outputs that were changed afterwards, read again for another number of
//! zones: refused, or cut into something whole, never a panic.

use std::path::Path;

use groundfit::project::Project;
use groundfit::run::{self, BLOCK_ROWS, Options, Silent, Stop};

use crate::mutation::{Seeded, rounds, spoil_text};
use crate::small_site::Site;

const ODD: [&str; 22] = [
    "",
    "null",
    "[]",
    "{}",
    "0",
    "1",
    "7",
    "-1",
    "255",
    "65535",
    "65536",
    "4294967295",
    "18446744073709551615",
    "18446744073709551616",
    "340282366920938463463374607431768211455",
    "1e308",
    "1e400",
    "-0.5",
    "NaN",
    "\"measured\"",
    "\"classes\"",
    "classes",
];

#[test]
fn three_hundred_spoilt_outputs_are_refused_or_cut() {
    let site = Site::sound();
    site.run("map").expect(0);
    let project = Project::read(&site.file("project.toml")).unwrap();
    let stored = site.file("out");
    let texts =
        ["zones.sums", "zones.merges"].map(|name| std::fs::read_to_string(stored.join(name)).unwrap());
    let cut = |into: &Path| {
        let options = Options {
            folder: into,
            overwrite: true,
            block_rows: BLOCK_ROWS,
            progress: &Silent,
            stop: &Stop::new(),
        };
        run::recut(&project, &stored, 2, &options)
    };
    let into = site.file("cut");
    cut(&into).unwrap();
    let mut seeded = Seeded::new(51);
    let mut refused = 0;
    for _ in rounds(300) {
        let which = seeded.below(4).saturating_sub(2).min(1);
        let name = ["zones.sums", "zones.merges"][which];
        std::fs::write(stored.join(name), spoil_text(&texts[which], &ODD, &mut seeded)).unwrap();
        if let Err(error) = cut(&into) {
            assert!(!error.to_string().is_empty());
            refused += 1;
        }
        std::fs::write(stored.join(name), &texts[which]).unwrap();
    }
    assert!(refused > rounds(300).len() / 3, "{refused}");
    cut(&into).unwrap();
}
