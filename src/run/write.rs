//! The last stage of a run: all files into the partial folder, counted, renamed.
//! And the way back: sums and merges of a finished output read again.

use std::fs::File;
use std::path::{Path, PathBuf};

use super::accounting::Clock;
use super::counted::Merged;
use super::drawn::{self, Drawn, square_metres};
use super::facts::{Facts, StoredZone};
use super::found_and_needed::ZoneNeeds;
use super::page::{self, MOST_ZONES, PageParts};
use super::prepared::Prepared;
use super::progress::Stop;
use super::record::{self, Parts};
use super::settings::{StopAt, ZoneSettings};
use crate::error::Error;
use crate::gis;
use crate::grid::Grid;
use crate::output::words::area_words;
use crate::output::{
    Expected, InputRecord, OutputError, PartialFolder, RunRecord, SiteResult, file_date, read_json_lines,
    source_date_epoch, write_csv, write_geojson, write_geopackage, write_json_lines,
};
use crate::plural::{counted, one_or_many};
use crate::rating::CellRater;
use crate::zones::{Cut, CutNote, GroundBook, MergeLog, Zone};

/// A finished run.
pub struct Mapped {
    /// The output folder.
    pub folder: PathBuf,
    /// What `run.json` tells.
    pub record: RunRecord,
    /// The zones.
    pub zones: Vec<Zone>,
    /// Names of species for people: common and scientific, in the catalogue's order.
    pub species: Vec<(String, String)>,
    /// Ids of the factors, in the project's order.
    pub factors: Vec<String>,
    /// Things to tell about the folder.
    pub told: Vec<String>,
}

/// What the last stages of a run and of a later cut start from.
pub struct Ending<'a> {
    /// What was read.
    pub prepared: &'a Prepared<'a>,
    /// What was found on the way.
    pub facts: Facts,
    /// Zones of phase 1 and merges.
    pub merged: Merged,
    /// Where merging stopped.
    pub cut: &'a Cut,
    /// How zones were made.
    pub settings: &'a ZoneSettings,
    /// The files that were read.
    pub inputs: Vec<InputRecord>,
}

impl Ending<'_> {
    /// Draws the zones, writes all files and makes the folder the output.
    ///
    /// # Errors
    /// Zones that cannot be drawn, a file that cannot be written, an interrupt; then
    /// nothing is left.
    pub fn finish(
        mut self,
        rater: &CellRater,
        stop: &Stop,
        folder: PartialFolder,
        mut clock: Clock,
    ) -> Result<Mapped, Error> {
        let drawn = drawn::draw(self.prepared, rater, &self.merged, self.cut, self.settings)?;
        self.merged.let_sums_go();
        gis::give_memory_back();
        clock.lap("drawing outlines");
        stop.check()?;
        Finished { ending: self, drawn }.write(folder, clock)
    }
}

/// Everything that is written.
struct Finished<'a> {
    ending: Ending<'a>,
    drawn: Drawn,
}

impl Finished<'_> {
    /// Writes all files and makes the folder the output.
    ///
    /// # Errors
    /// A file that cannot be written; then nothing is left.
    fn write(mut self, mut folder: PartialFolder, mut clock: Clock) -> Result<Mapped, Error> {
        let inputs = std::mem::take(&mut self.ending.inputs);
        let (prepared, drawn) = (self.ending.prepared, &self.drawn);
        let date = file_date(source_date_epoch()?, &inputs);
        let warnings = self.warnings();
        let needs = ZoneNeeds::new(prepared, &drawn.zones);
        let result = SiteResult {
            title: record::title(prepared),
            units: prepared.project.units,
            grid: prepared.site.grid(),
            factors: prepared.site.factors(),
            species: &prepared.catalogue.species,
            zones: &drawn.zones,
            outlines: &drawn.outlines,
            texts: &needs,
            ranges: drawn.ranges.as_ref(),
        };
        let choice = drawn.choice;

        let features = write_geojson(&folder.file("zones.geojson"), &result)?;
        folder.expect("zones.geojson", Expected::GeoJson { features });
        clock.lap("writing zones.geojson");
        let (zones, zone_species) = write_geopackage(&folder.file("zones.gpkg"), &result, choice, date)?;
        folder.expect("zones.gpkg", Expected::GeoPackage { zones, zone_species });
        clock.lap("writing zones.gpkg");
        let rows = write_csv(&folder.file("zone_species.csv"), &result, choice)?;
        folder.expect("zone_species.csv", Expected::Csv { rows });
        self.write_stored(&mut folder)?;
        clock.lap("writing tables");

        folder.expect("run.json", Expected::Json);
        let parts = Parts {
            prepared,
            facts: &self.ending.facts,
            merged: &self.ending.merged,
            cut: self.ending.cut,
            drawn,
            settings: self.ending.settings,
            inputs,
            date,
            rows,
            warnings,
            outputs: folder.outputs()?,
        };
        let mut record = record::record(parts, &clock);
        if let Some(for_page) = &drawn.for_page {
            let parts = PageParts {
                prepared,
                not_rated: self.ending.facts.not_rated_picture.as_ref(),
                drawn,
                for_page,
                settings: self.ending.settings,
                needs: &needs,
                record: &record,
            };
            page::page(&parts)?.write(&folder.file("report.html"))?;
            folder.expect("report.html", Expected::File);
            clock.lap("writing report.html");
            record.add_output(folder.outputs()?, &clock);
        }
        record.write(&folder.file("run.json"))?;
        let mut told = folder.told().to_vec();
        let finished = folder.finish()?;
        told.extend(finished.left_over.map(|path| {
            format!(
                "the earlier output could not be removed and stays at {}",
                path.display()
            )
        }));
        let names = prepared.catalogue.species.iter();
        Ok(Mapped {
            folder: finished.folder,
            record,
            species: names
                .map(|species| (species.common_name.clone(), species.scientific_name.clone()))
                .collect(),
            factors: prepared
                .site
                .factors()
                .iter()
                .map(|factor| factor.id.clone())
                .collect(),
            zones: self.drawn.zones,
            told,
        })
    }

    /// Merges, for cutting other zones later, beside the sums that are there already.
    fn write_stored(&self, folder: &mut PartialFolder) -> Result<(), Error> {
        let path = folder.file("zones.merges");
        let write = || {
            let mut out = File::create(&path)?;
            self.ending.merged.log.write(&mut out)
        };
        write().map_err(OutputError::write(&path))?;
        folder.expect("zones.merges", Expected::File);
        folder.expect("zones.sums", Expected::File);
        Ok(())
    }

    fn warnings(&self) -> Vec<String> {
        let mut warnings = self.ending.facts.warnings.clone();
        if let StopAt::Number(asked) = self.ending.settings.stop_at
            && self.ending.cut.zones > asked
        {
            warnings.push(format!(
                "{} {} asked for, and {} are the fewest that leave each part its list (`keep` is {})",
                counted(asked, "zone"),
                one_or_many(asked, "was", "were"),
                self.ending.cut.zones,
                self.ending.settings.merge.keep.get()
            ));
        }
        if self.ending.prepared.project.outputs.report && self.drawn.for_page.is_none() {
            let fewest = u64::from(self.ending.merged.log.sequence.smallest_number());
            let way_out = if fewest <= MOST_ZONES {
                format!("`groundfit zones --number {MOST_ZONES}` cuts fewer")
            } else {
                "a larger `smallest_ha` or a lower `keep` makes fewer".to_owned()
            };
            warnings.push(format!(
                "report.html is not written: found {} zones, needed at most {MOST_ZONES} for a page that opens everywhere; {way_out}",
                self.drawn.zones.len()
            ));
        }
        match self.ending.cut.note {
            Some(CutNote::UnderTargetFromTheStart) => warnings.push(format!(
                "joining small regions alone left a fidelity of {:.2}, under the target: a smaller `smallest_ha` keeps more",
                self.ending.cut.fidelity.get()
            )),
            Some(CutNote::FewerThanAsked) => warnings.push(format!(
                "{} {} after small regions joined; fewer than asked for",
                counted(self.ending.cut.zones, "zone"),
                one_or_many(self.ending.cut.zones, "is all there is", "are all there are")
            )),
            None => {}
        }
        if self.ending.facts.absorbed_against_keep > 0 {
            let units = self.ending.prepared.project.units;
            let area_m2 =
                record::plane_area_m2(self.ending.prepared, self.ending.facts.absorbed_against_keep);
            warnings.push(format!(
                "{} in pieces under `smallest_ha` joined zones whose lists fit them less than `keep` asks",
                area_words(area_m2, units)
            ));
        }
        for (factor, sums) in &self.ending.facts.not_rated.ignored {
            let area_m2 = square_metres(sums.area_mm2);
            warnings.push(format!(
                "{factor} has no value on {} that is rated, and is not counted there, as `missing = \"ignore\"` asks",
                area_words(area_m2, self.ending.prepared.project.units)
            ));
        }
        if self.drawn.borders_unsimplified > 0 {
            warnings.push(format!(
                "{} of {} {} not simplified in zones.geojson, because {} would have crossed",
                self.drawn.borders_unsimplified,
                counted(self.drawn.borders, "border"),
                one_or_many(self.drawn.borders_unsimplified, "is", "are"),
                one_or_many(self.drawn.borders_unsimplified, "it", "they")
            ));
        }
        if self.drawn.greatest_area_change > 1e-4 {
            warnings.push(format!(
                "simplified outlines change the area of a zone by up to {:.1} %; `area_ha` is that of its cells",
                self.drawn.greatest_area_change * 100.0
            ));
        }
        if let Some(ranges) = &self.drawn.ranges {
            let without = ranges.zones_without_region();
            if without > 0 {
                warnings.push(format!(
                    "{} {} no region of `range.regions`: what is documented there is not known",
                    counted(without, "zone"),
                    one_or_many(without, "touches", "touch")
                ));
            }
        }
        if self.drawn.left_out > 0 {
            warnings.push(format!(
                "`documented_only` leaves suiting species off {}; not documented is not unsuited: maps of records follow the collectors",
                counted(self.drawn.left_out, "list")
            ));
        }
        if self.drawn.zones.is_empty() {
            warnings
                .push("no cell could be rated, so there are no zones: see the areas not rated".to_owned());
        }
        warnings
    }
}

/// Writes the sums of the zones of phase 1, for cutting other zones later.
///
/// # Errors
/// The file cannot be written.
pub fn write_sums(
    folder: &PartialFolder,
    facts: &Facts,
    ground: &GroundBook,
    areas_mm2: &[u128],
) -> Result<(), Error> {
    let zone = |index: usize| StoredZone {
        area_mm2: areas_mm2[index].to_string(),
        ground: ground.ground(index),
    };
    let path = folder.file("zones.sums");
    Ok(write_json_lines(&path, facts, ground.len(), zone)?)
}

/// Merges and facts of a finished output of this project as it is now.
///
/// # Errors
/// An output that is not there, is damaged, or was made of other files.
pub fn read_back(
    prepared: &Prepared,
    folder: &Path,
    inputs: &[InputRecord],
) -> Result<(Facts, Merged), Error> {
    let path = folder.join("zones.sums");
    let (facts, zones): (Facts, Vec<StoredZone>) = read_json_lines(&path)?;
    let other = |reason: String| Error::OtherProject {
        path: folder.to_owned(),
        reason,
    };
    let now = record::checksums(inputs);
    let changed = facts
        .inputs
        .iter()
        .find(|(file, sum)| now.get(*file) != Some(sum));
    if let Some(file) = changed
        .map(|(file, _)| file)
        .or_else(|| now.keys().find(|file| !facts.inputs.contains_key(*file)))
    {
        return Err(other(format!("{file} has changed since")));
    }
    let merges = folder.join("zones.merges");
    let text = std::fs::read_to_string(&merges).map_err(OutputError::read(&merges))?;
    let log = MergeLog::parse(&text)?;
    let areas = zones.iter().map(|zone| zone.area_mm2.parse::<u128>());
    let areas_mm2: Vec<u128> = areas
        .collect::<Result<_, _>>()
        .map_err(|_| other("zones.sums is damaged".to_owned()))?;
    let shape = super::counted::shape_of(prepared);
    let fits = |zone: &StoredZone| {
        zone.ground.factors.len() == shape.measured.len()
            && zone.ground.questions.len() == shape.questions
            && zone.ground.rating_bytes.len() == shape.species
    };
    let rows_fit = |grid: &Grid| {
        log.rows
            .as_ref()
            .is_some_and(|rows| rows.rows() == grid.rows() && rows.cols() as usize == grid.cols())
    };
    let grid = prepared.site.grid();
    let picture = facts.not_rated_picture.as_ref();
    if picture.is_some_and(|picture| !picture.fits(grid)) {
        return Err(other(
            "its picture of what is not rated is of another size".to_owned(),
        ));
    }
    if areas_mm2.len() != log.cells.len() || !zones.iter().all(fits) || !rows_fit(grid) {
        return Err(other("its sums are of another size".to_owned()));
    }
    let merged = Merged {
        log,
        ground: GroundBook::of(&shape, zones.into_iter().map(|zone| zone.ground)),
        areas_mm2,
    };
    Ok((facts, merged))
}
