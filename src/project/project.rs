//! The whole project: reads the file and hands out its sections.

use std::path::{Path, PathBuf};

use super::factors::{OtherSections, SurveyGiven};
use super::reader::Reader;
use super::soil_survey::map_unit_section;
use super::table::Table;
use super::{
    Area, CatalogueSection, ELEVATION_NAME, Exclude, FactorSection, FactorSource, LayerRef, OutputSection,
    ProjectError, RangeSection, RatingSection, RoadSalt, Rule, SoilSurvey, ZoneSection, syntax,
};
use crate::factor::{Factor, Units};
use crate::soil::{LEACHING_WATER, Reading, SALT_WATER, SoilFactor};

/// A project file, read and checked.
#[derive(Debug, Clone, PartialEq)]
pub struct Project {
    /// The project file.
    pub path: PathBuf,
    /// Its folder, at which relative paths start.
    pub folder: PathBuf,
    /// `title`: the name of the site for people.
    pub title: Option<String>,
    /// `units`: what people read; metric unless given.
    pub units: Units,
    /// `[area]`
    pub area: Area,
    /// `[catalogue]`
    pub catalogue: CatalogueSection,
    /// `[soil_survey]`
    pub soil_survey: Option<SoilSurvey>,
    /// `[factors.NAME]`, in the order of the file, which settles ties and
    /// which stand-in goes first.
    pub factors: Vec<FactorSection>,
    /// `[road_salt]`: the roads that factors with `from = "road_salt"` are computed from.
    pub road_salt: Option<RoadSalt>,
    /// `[[exclude]]`, in the order of the file.
    pub exclude: Vec<Exclude>,
    /// `[range]`: where species are documented.
    pub range: Option<RangeSection>,
    /// `[rating]`
    pub rating: RatingSection,
    /// `[zones]`
    pub zones: ZoneSection,
    /// `[outputs]`
    pub outputs: OutputSection,
}

impl Project {
    /// Reads a project file and looks whether the files it names are there.
    ///
    /// # Errors
    /// The file cannot be read, or has problems: then all of them are told.
    pub fn read(path: &Path) -> Result<Project, ProjectError> {
        let unreadable = |source| ProjectError::Unreadable {
            path: path.to_owned(),
            source,
        };
        let bytes = std::fs::read(path).map_err(unreadable)?;
        match String::from_utf8(bytes) {
            Ok(text) => Project::parse(&text, path),
            Err(error) => {
                let at = error.utf8_error().valid_up_to();
                let text = String::from_utf8_lossy(error.as_bytes());
                let reader = Reader::new(&text, Path::new(""));
                let text = "found a letter that is not UTF-8, needed a file saved as UTF-8";
                reader.problem_at(at, "", text.to_owned());
                Err(ProjectError::Problems {
                    path: path.to_owned(),
                    problems: reader.into_problems(),
                })
            }
        }
    }

    /// Reads the text of a project file that lies, or would lie, at `path`.
    ///
    /// # Errors
    /// The text has problems: then all of them are told.
    pub fn parse(text: &str, path: &Path) -> Result<Project, ProjectError> {
        let text = text.trim_start_matches('\u{feff}');
        let folder = match path.parent() {
            Some(folder) if folder != Path::new("") => folder,
            _ => Path::new("."),
        };
        let (document, errors) = syntax::read(text);
        let mut reader = Reader::new(text, folder);
        if !errors.is_empty() {
            reader = reader.partial();
        }
        for error in errors {
            reader.problem_at(error.at, "", error.text);
        }
        let project = document
            .as_ref()
            .and_then(|document| sections(&Table::root(document.as_table(), &reader), path, folder));
        let problems = reader.into_problems();
        match project {
            Some(project) if problems.is_empty() => Ok(project),
            _ => Err(ProjectError::Problems {
                path: path.to_owned(),
                problems,
            }),
        }
    }

    /// The decisive standard factors on which the project is silent: none of
    /// its factors is one of them, stands in for it, or has it as stand-in.
    #[must_use]
    pub fn left_out_decisive(&self) -> Vec<Factor> {
        let standard = Factor::standard_ids().filter_map(Factor::standard);
        let left_out = standard.filter(|factor| factor.decisive && !self.speaks_of(factor));
        left_out.collect()
    }

    /// All factors that a catalogue may speak of here: those of the project, as it
    /// has them, then the standard ones that it does not name.
    #[must_use]
    pub fn known_factors(&self) -> Vec<Factor> {
        // The catalogue has nothing to say of map units.
        let added = [SoilFactor::MapUnit.id(), SALT_WATER, LEACHING_WATER];
        let own = self.factors.iter().map(|section| section.factor.clone());
        let own = own.filter(|factor| !added.contains(&factor.id.as_str()) || self.soil_survey.is_none());
        let named = |factor: &Factor| self.factors.iter().any(|section| section.factor.id == factor.id);
        let standard = Factor::standard_ids().filter_map(Factor::standard);
        own.chain(standard.filter(|factor| !named(factor))).collect()
    }

    fn speaks_of(&self, factor: &Factor) -> bool {
        self.factors.iter().any(|section| {
            let own = &section.factor;
            own.id == factor.id
                || own.stands_in_for.as_deref() == Some(&factor.id)
                || factor.stands_in_for.as_deref() == Some(&own.id)
        })
    }

    /// Every layer the project names, with what it is for, in the order of the
    /// file's sections.
    pub fn layers(&self) -> impl Iterator<Item = (String, &LayerRef)> {
        let made = self.soil_survey.iter().filter_map(|survey| {
            let layer = survey.made_ground.as_ref()?;
            Some(("soil_survey.made_ground".to_owned(), layer))
        });
        let all = layers(
            Some(&self.area),
            &self.factors,
            self.road_salt.as_ref(),
            &self.exclude,
        );
        let range = self.range.iter().flat_map(RangeSection::layers);
        all.chain(made).chain(range)
    }

    /// The tables of the soil survey and their path as the file has it, where they lie
    /// apart from its polygons.
    #[must_use]
    pub fn survey_tables(&self) -> Option<(&Path, &str)> {
        let survey = self.soil_survey.as_ref()?;
        let apart = survey.tables != survey.polygons.path;
        apart.then_some((survey.tables.as_path(), survey.tables_as_written.as_str()))
    }
}

const UNITS: [(&str, Units); 2] = [("metric", Units::Metric), ("us", Units::Us)];

/// All sections are read before any is given up, so that all problems show.
fn sections(root: &Table, path: &Path, folder: &Path) -> Option<Project> {
    root.require(&["area"]);
    root.require(&["factors"]);
    let title = root.text("title").map(|found| found.value.to_owned());
    let units = root.word("units", &UNITS).map(|found| found.value);
    let area = root.table("area").and_then(|table| Area::read(&table));
    let catalogue = match root.table("catalogue") {
        Some(table) => CatalogueSection::read(&table),
        None => Some(CatalogueSection::default()),
    };
    let soil_survey = root.table("soil_survey").map(|table| SoilSurvey::read(&table));
    let survey = match &soil_survey {
        None => SurveyGiven::No,
        Some(None) => SurveyGiven::Broken,
        Some(Some(survey)) => SurveyGiven::Yes(survey),
    };
    let factor_table = root.table("factors");
    let factor_tables = factor_table.as_ref().map_or_else(Vec::new, Table::named_tables);
    let others = OtherSections {
        road_salt: root.holds_table("road_salt"),
        survey,
    };
    let mut factors = FactorSection::read_all(&factor_tables, others);
    if let Some(table) = factor_table.filter(|_| factor_tables.is_empty()) {
        let text = "found no factor, needed at least one table such as `[factors.drainage]`";
        table.spot.problem(text);
    }
    let salt_table = root.table("road_salt");
    let mut road_salt = salt_table.as_ref().and_then(RoadSalt::read);
    if let (Some(road_salt), Some(table)) = (&mut road_salt, &salt_table) {
        road_salt.check(table, &factors);
    }
    let exclude = root.tables("exclude").map_or_else(Vec::new, |found| found.value);
    let exclude = Exclude::read_all(&exclude);
    let range_table = root.table("range");
    let range = range_table.as_ref().map(RangeSection::read);
    let names: Vec<&str> = factor_tables.iter().map(|(name, _)| *name).collect();
    let rating = RatingSection::read(root.table("rating").as_ref(), &names);
    if let SurveyGiven::Yes(survey) = survey
        && survey.reading == Reading::EachComponent
        && factors
            .iter()
            .any(|section| matches!(section.source, FactorSource::SoilSurvey { .. }))
    {
        soil_by_soil(root, &names, rating.as_ref());
        factors.push(map_unit_section(survey));
        let salt = road_salt.iter().flat_map(|salt| salt.behind_soils(&factors));
        let salt: Vec<FactorSection> = salt.collect();
        factors.extend(salt);
    }
    let zones = root
        .table("zones")
        .map_or_else(ZoneSection::default, |table| ZoneSection::read(&table));
    let output_table = root.table("outputs");
    let outputs = OutputSection::read(output_table.as_ref(), folder);
    root.finish();

    let spot = output_table
        .and_then(|table| table.spot_of("folder").or(Some(table.spot)))
        .unwrap_or_else(|| root.spot.clone());
    let layers =
        layers(area.as_ref(), &factors, road_salt.as_ref(), &exclude).map(|(_, layer)| layer.path.as_path());
    let read_range = || range.iter().flatten();
    let range_layers = read_range().flat_map(RangeSection::layers);
    let layers = layers.chain(range_layers.map(|(_, layer)| layer.path.as_path()));
    let words = factors.iter().filter_map(|section| section.words.file());
    let tables = catalogue.iter().flat_map(CatalogueSection::files);
    let surveys = soil_survey.iter().flatten();
    let surveys = surveys.flat_map(|survey| {
        let made = survey.made_ground.iter().map(|layer| layer.path.as_path());
        made.chain([survey.tables.as_path()])
    });
    let range_files = read_range().map(|range| range.table.as_path());
    let inputs = [path].into_iter().chain(layers).chain(words).chain(tables);
    let inputs = inputs.chain(surveys).chain(range_files);
    outputs.keep_apart(&spot, inputs);

    Some(Project {
        path: path.to_owned(),
        folder: folder.to_owned(),
        title,
        units: units.unwrap_or(Units::Metric),
        area: area?,
        catalogue: catalogue?,
        soil_survey: match soil_survey {
            None => None,
            Some(read) => Some(read?),
        },
        factors,
        road_salt,
        exclude,
        range: match range {
            Some(read) => Some(read?),
            None => None,
        },
        rating: rating?,
        zones,
        outputs,
    })
}

/// What stands in the way of rating soils one by one.
fn soil_by_soil(root: &Table, names: &[&str], rating: Option<&RatingSection>) {
    let Some(table) = root.table("soil_survey") else {
        return;
    };
    let spot = table.spot_of("reading").unwrap_or_else(|| table.spot.clone());
    if let Some(rating) = rating.filter(|rating| rating.rule != Rule::Limiting) {
        spot.problem(format!(
            "found the rule `{}` with soils rated one by one (`each component`), needed `limiting`, or the reading `main component` or `largest class`",
            rating.rule.word()
        ));
    }
    for (taken, by) in [
        (SoilFactor::MapUnit.id(), "the map units themselves are"),
        (SALT_WATER, "the salt of the water that enters the ground is"),
        (LEACHING_WATER, "the water that leaches road salt is"),
    ] {
        if names.contains(&taken) {
            spot.problem(format!(
                "found a factor called `{taken}`, needed another name: with `each component` {by} called so"
            ));
        }
    }
}

fn layers<'p>(
    area: Option<&'p Area>,
    factors: &'p [FactorSection],
    road_salt: Option<&'p RoadSalt>,
    exclude: &'p [Exclude],
) -> impl Iterator<Item = (String, &'p LayerRef)> {
    let area = area.map(|area| ("area.boundary".to_owned(), &area.boundary));
    let factors = factors.iter().filter_map(|section| {
        let layer = section.source.layer()?;
        Some((format!("factors.{}", section.factor.id), layer))
    });
    let salt = road_salt.into_iter().flat_map(|salt| {
        let elevation = salt.root_zone.elevation.as_ref();
        let elevation = elevation.map(|layer| (ELEVATION_NAME.to_owned(), layer));
        [("road_salt.roads".to_owned(), &salt.roads)]
            .into_iter()
            .chain(elevation)
    });
    let exclude = exclude
        .iter()
        .map(|exclude| (format!("exclude {}", exclude.name), &exclude.layer));
    area.into_iter().chain(factors).chain(salt).chain(exclude)
}
