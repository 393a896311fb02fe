//! A project with its site and catalogue open, ready to be rated.

use std::sync::Arc;

use super::catalogue;
use crate::error::Error;
use crate::plural::one_or_many;
use crate::project::{FactorSource, PlantLimit, Project};
use crate::range::Range;
use crate::rating::{CellRater, Questions, RatedFactor, Settings};
use crate::severity::Severity;
use crate::site::{Sections, Site};
use crate::species::{Catalogue, FloristicQuality, add_limits, floristic_quality};

/// Everything a run reads, open and checked.
pub struct Prepared<'a> {
    /// The project.
    pub project: &'a Project,
    /// The site.
    pub site: Site,
    /// The catalogue, without the species the project leaves out.
    pub catalogue: Catalogue,
    /// Where its species are documented, where the project tells.
    pub range: Option<Range>,
    /// What is asked of ground and species.
    pub questions: Arc<Questions>,
    /// What ratings are measured by.
    pub settings: Settings,
    /// What people should know before they trust the result.
    pub warnings: Vec<String>,
}

impl<'a> Prepared<'a> {
    /// Opens the layers and the catalogue of a project.
    ///
    /// # Errors
    /// Every problem with a layer, or every problem in the catalogue.
    pub fn open(project: &'a Project) -> Result<Prepared<'a>, Error> {
        let limits = limits(project);
        let limit_ids: Vec<&str> = limits.iter().map(|(id, _)| id.as_str()).collect();
        let (mut catalogue, mut warnings) = catalogue::open(project, &limit_ids)?;
        add_limits(&mut catalogue.species, &limits);
        warn_of_unmeasured_plants(&limits, &catalogue, &mut warnings);
        let site = Site::open(sections(project))?;
        let range = match &project.range {
            None => None,
            Some(section) => Some(Range::open(section, &catalogue, site.grid())?),
        };
        let told = site
            .findings()
            .iter()
            .filter(|finding| finding.severity == Severity::Warning);
        warnings.extend(told.map(|finding| format!("{}: {}", finding.layer, finding.text)));
        warnings.extend(range.iter().flat_map(Range::warnings).cloned());
        for factor in project.left_out_decisive() {
            warnings.push(format!(
                "the project has no {}, which is decisive: nothing is known of it, and it limits no species",
                factor.id
            ));
        }
        let rated = project.factors.iter().zip(site.factors()).zip(site.from_raster());
        let factors = rated
            .map(|((section, factor), from_raster)| RatedFactor {
                factor: factor.clone(),
                missing: section.missing,
                weight: project.rating.weight_of(&section.factor.id),
                from_raster,
            })
            .collect();
        warn_of_foreign_conditions(project, &catalogue, &mut warnings);
        let settings = Settings {
            rule: project.rating.rule,
            limits: project.rating.limits,
            at_least: project.rating.at_least,
        };
        let questions = Questions::new(factors, &catalogue.species);
        let questions = match site.soil_mixes(&project.factors) {
            Some(mixes) => questions.with_soils(mixes, settings),
            None => questions,
        };
        let questions = Arc::new(questions);
        Ok(Prepared {
            project,
            site,
            catalogue,
            range,
            questions,
            settings,
            warnings,
        })
    }

    /// The compiled rating.
    ///
    /// # Errors
    /// When conditions tie too many factors together.
    pub fn rater(&self) -> Result<CellRater<'_>, Error> {
        Ok(CellRater::new(&self.questions, self.settings)?)
    }

    /// The floristic quality of the species, where the project names a flora region.
    #[must_use]
    pub fn floristic_quality(&self) -> Option<FloristicQuality> {
        let region = self.project.catalogue.region.as_deref()?;
        floristic_quality(self.catalogue.species.iter(), region)
    }
}

/// The sections of a project that name layers.
pub fn sections(project: &Project) -> Sections<'_> {
    Sections {
        road_salt: project.road_salt.as_ref(),
        area: &project.area,
        factors: &project.factors,
        exclude: &project.exclude,
        soil_survey: project.soil_survey.as_ref(),
    }
}

/// The limits on plants, by the ids of their factors.
fn limits(project: &Project) -> Vec<(String, PlantLimit)> {
    let sections = project.factors.iter();
    let limits = sections.filter_map(|section| match &section.source {
        FactorSource::Limit { plants, .. } => Some((section.factor.id.clone(), *plants)),
        _ => None,
    });
    limits.collect()
}

/// Limits for which few species have the traits that tell whether they keep to them.
fn warn_of_unmeasured_plants(
    limits: &[(String, PlantLimit)],
    catalogue: &Catalogue,
    warnings: &mut Vec<String>,
) {
    let all = catalogue.species.len();
    for (factor, limit) in limits {
        let known = catalogue.species.iter();
        let known = known.filter(|species| species.opinions_on(factor).next().is_some());
        let known = known.count();
        if known * 3 >= all {
            continue;
        }
        let traits = match (limit.highest_m, limit.thickest_stem_mm) {
            (Some(_), Some(_)) => "`height_m` and `stem_mm`",
            (None, Some(_)) => "`stem_mm`",
            _ => "`height_m`",
        };
        warnings.push(format!(
            "factors.{factor}: only {known} of {all} species {} the traits that this limit asks for ({traits}); the others are unknown on limited ground",
            one_or_many(known, "has", "have")
        ));
    }
}

/// Conditions on a factor that the project does not have can never be met, and the
/// species is unknown where only they would speak.
fn warn_of_foreign_conditions(project: &Project, catalogue: &Catalogue, warnings: &mut Vec<String>) {
    let has = |id: &str| project.factors.iter().any(|section| section.factor.id == id);
    for species in &catalogue.species {
        for opinion in &species.opinions {
            if let Some(given) = opinion
                .given
                .as_ref()
                .filter(|given| has(&opinion.factor) && !has(&given.factor))
            {
                let text = format!(
                    "{} tells its {} only by {}, which the project does not have: there it is unknown",
                    species.id, opinion.factor, given.factor
                );
                if !warnings.contains(&text) {
                    warnings.push(text);
                }
            }
        }
    }
}
