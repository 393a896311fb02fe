//! A sound site of 200 x 100 m with a tiny catalogue, which each check of bad input
//! spoils in one point.

use std::path::{Path, PathBuf};

use tempfile::TempDir;

use crate::program::{Run, groundfit};
use crate::scenario::{Field, PLANE, RasterPlan, Row, rectangle, write_layer, write_project};

pub const DRAINAGE: &str = "\
[factors.drainage]
layer = \"soils.gpkg\"
attribute = \"drain\"
";
pub const CANOPY: &str = "\
[factors.canopy]
layer = \"canopy.tif\"
";
pub const CANOPY_PLAN: RasterPlan = RasterPlan {
    west: 0.0,
    south: 0.0,
    east: 200.0,
    north: 100.0,
    cell: 10.0,
    epsg: PLANE,
    nodata: Some(255.0),
};
pub const SPECIES: &str = "\
id,scientific_name,common_name,form
panicum-virgatum,Panicum virgatum,switchgrass,grass
carex-stricta,Carex stricta,upright sedge,grass
";
pub const TOLERANCES: &str = "\
species,factor,given,response,source,note
panicum-virgatum,drainage,,classes excessively drained=0.3; somewhat excessively drained=0.5; well drained=1; moderately well drained=1; somewhat poorly drained=1; poorly drained=0.3; very poorly drained=0,made-up,
panicum-virgatum,canopy,,range - - 30.5 60,made-up,
carex-stricta,drainage,,classes excessively drained=0; somewhat excessively drained=0; well drained=0.1; moderately well drained=0.5; somewhat poorly drained=0.8; poorly drained=1; very poorly drained=1,made-up,
carex-stricta,canopy,,range - - 50 80,made-up,
";
pub const SOURCES: &str = "\
id,kind,title
made-up,common practice,Made up for a test
";

/// The site's folder and the sections of its project file.
pub struct Site {
    folder: TempDir,
    pub area: String,
    pub factors: String,
    pub more: String,
}

impl Site {
    pub fn sound() -> Site {
        let site = Site {
            folder: tempfile::tempdir().unwrap(),
            area: "boundary = \"site.gpkg\"\ngrid_crs = \"EPSG:26915\"\ncell_m = 10\n".to_owned(),
            factors: format!("{DRAINAGE}{CANOPY}"),
            more: String::new(),
        };
        let shape = rectangle(0.0, 0.0, 200.0, 100.0);
        write_layer(
            &site.file("site.gpkg"),
            PLANE,
            &["name"],
            &[(vec![Field::Text("site")], shape)],
        );
        site.soils(&[
            ("Well drained", rectangle(0.0, 0.0, 120.0, 100.0)),
            ("Poorly drained", rectangle(120.0, 0.0, 200.0, 100.0)),
        ]);
        CANOPY_PLAN.write(&site.file("canopy.tif"), |_, _| 12_u8);
        std::fs::create_dir(site.file("catalogue")).unwrap();
        site.catalogue("species.csv", SPECIES.as_bytes());
        site.catalogue("tolerances.csv", TOLERANCES.as_bytes());
        site.catalogue("sources.csv", SOURCES.as_bytes());
        site
    }

    pub fn folder(&self) -> &Path {
        self.folder.path()
    }

    pub fn file(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn catalogue(&self, name: &str, bytes: &[u8]) {
        std::fs::write(self.file("catalogue").join(name), bytes).unwrap();
    }

    /// Soil polygons in place of those that are there.
    pub fn soils(&self, polygons: &[(&str, String)]) {
        let rows: Vec<Row> = polygons
            .iter()
            .map(|(words, shape)| (vec![Field::Text(words)], shape.clone()))
            .collect();
        write_layer(&self.file("soils.gpkg"), PLANE, &["drain"], &rows);
    }

    pub fn project(&self) -> PathBuf {
        let Site {
            area, factors, more, ..
        } = self;
        let text = format!("[area]\n{area}\n[catalogue]\nfolder = \"catalogue\"\n\n{factors}\n{more}");
        write_project(self.folder(), &text)
    }

    /// Runs a command on the project.
    pub fn run(&self, command: &str) -> Run {
        groundfit([command.as_ref(), self.project().as_os_str()])
    }

    /// What `check` and `map` alike say when they refuse the site; nothing is written.
    pub fn refusal(&self, code: i32) -> String {
        let check = self.run("check").expect(code);
        let map = self.run("map").expect(code);
        assert_eq!(check.err, map.err);
        assert_eq!(check.out, "");
        assert!(!self.file("out").exists() && !self.file("out.partial").exists());
        check.err_without(self.folder())
    }

    /// What `map` says on the error stream while it does its job.
    pub fn warnings(&self) -> String {
        let check = self.run("check").expect(0);
        let map = self.run("map").expect(0);
        // Both tell the same of the layers.
        for line in map.err.lines().filter(|line| line.contains("factors.")) {
            assert!(check.out.contains(line), "{line} is not in {}", check.out);
        }
        assert!(self.file("out/zones.geojson").exists());
        // The tiny catalogue and project say little; that is told too, but is not
        // what these checks are about.
        let told = map.err_without(self.folder());
        let lines = told.lines().filter(|line| {
            !line.contains("tolerances.csv: only 0 of 2") && !line.contains("the project has no")
        });
        lines.collect::<Vec<_>>().join("\n")
    }
}
