//! The catalogue that a project uses: its own files, the starter's, or its own laid
//! over the starter's, with what the rules derive.

use super::checks::joined;
use super::overlay::lay_over;
use super::problem::Report;
use super::reading::{CataloguePaths, Extent};
use super::{Catalogue, Problem, SpeciesError, rules, starter};
use crate::factor::Factor;
use crate::project::CatalogueSection;

impl Catalogue {
    /// The catalogue of a section of a project file, with every problem of its own
    /// files. `factors` are those it may speak of.
    ///
    /// # Errors
    /// A file that cannot be read at all, or a wetland region that is none.
    pub fn open(
        section: &CatalogueSection,
        factors: &[Factor],
    ) -> Result<(Catalogue, Vec<Problem>), SpeciesError> {
        let known = rules::WETLAND_LISTS.map(|(id, _)| id);
        let wetland_region = section.rules.wetland_region.as_ref();
        if let Some(region) = wetland_region.filter(|region| !known.contains(&region.as_str())) {
            return Err(SpeciesError::NoWetlandRegion {
                region: region.clone(),
                known: known.to_vec(),
            });
        }
        let paths = section.own.as_ref().map(CataloguePaths::from);
        if !section.starter
            && let Some(paths) = &paths
        {
            return Catalogue::read(paths, factors);
        }
        let (mut catalogue, mut problems) = starter::read();
        let Some(paths) = &paths else {
            rules::derive(&mut catalogue, factors, &section.rules);
            return Ok((catalogue, problems));
        };
        let (own, told) = Catalogue::read_as(paths, factors, Extent::Part)?;
        problems.extend(told);
        let mut report = Report::new(&paths.species, &mut problems);
        joined::names_beneath(&own, &catalogue, &mut report);
        let ids: Vec<String> = own.species.iter().map(|species| species.id.clone()).collect();
        catalogue = lay_over(own, catalogue, factors);
        rules::derive(&mut catalogue, factors, &section.rules);
        joined::joined(&catalogue, &ids, factors, &mut report);
        Ok((catalogue, problems))
    }
}
