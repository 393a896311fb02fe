//! The catalogue of a project as it is rated: opened, narrowed down to the species
//! that the project asks for, and what its flora region says of them.

use crate::error::Error;
use crate::project::{CatalogueSection, Project};
use crate::species::{Catalogue, Problem};

/// The catalogue, and what a user should hear about it.
///
/// # Errors
/// Files that cannot be used, a region without a list, no species left.
pub fn open(project: &Project, limits: &[&str]) -> Result<(Catalogue, Vec<String>), Error> {
    let mut known = project.known_factors();
    // The catalogue need not speak of limits: traits tell, as is checked once they are applied.
    for factor in known
        .iter_mut()
        .filter(|factor| limits.contains(&factor.id.as_str()))
    {
        factor.decisive = false;
    }
    let section = &project.catalogue;
    let (mut catalogue, problems) = Catalogue::open(section, &known)?;
    if problems.iter().any(Problem::is_error) {
        return Err(Error::Catalogue { problems });
    }
    let mut warnings: Vec<String> = problems.iter().map(ToString::to_string).collect();
    narrow_down(&mut catalogue, section, &mut warnings);
    ask_region(&mut catalogue, section, &mut warnings)?;
    if catalogue.species.is_empty() {
        let own = section.own.as_ref().map(|files| files.species.clone());
        let path = own.unwrap_or_else(|| project.path.clone());
        return Err(Error::NoSpecies { path });
    }
    Ok((catalogue, warnings))
}

/// Leaves out what `leave_out` and `only` ask for, and tells ids that are none.
fn narrow_down(catalogue: &mut Catalogue, section: &CatalogueSection, warnings: &mut Vec<String>) {
    let unknown: Vec<(&str, &String)> = [("leave_out", &section.leave_out), ("only", &section.only)]
        .into_iter()
        .flat_map(|(key, ids)| ids.iter().map(move |id| (key, id)))
        .filter(|(_, id)| catalogue.species.iter().all(|species| species.id != **id))
        .collect();
    for (key, id) in unknown {
        let near = catalogue.nearest_ids(id);
        let near = near.first();
        let near = near.map_or_else(String::new, |near| format!("; nearest is `{near}`"));
        warnings.push(format!("catalogue.{key}: no species is called `{id}`{near}"));
    }
    catalogue.leave_out(&section.leave_out);
    if !section.only.is_empty() {
        catalogue
            .species
            .retain(|species| section.only.contains(&species.id));
    }
}

/// Tells what is not native by the region's list, and leaves it out where asked.
fn ask_region(
    catalogue: &mut Catalogue,
    section: &CatalogueSection,
    warnings: &mut Vec<String>,
) -> Result<(), Error> {
    let Some(region) = &section.region else {
        return Ok(());
    };
    let (introduced, unlisted) = catalogue.not_native_in(region)?;
    for (ids, what, left_out, key) in [
        (
            introduced,
            "introduced by",
            section.leave_out_introduced,
            "leave_out_introduced",
        ),
        (
            unlisted,
            "without a coefficient on",
            section.leave_out_unlisted,
            "leave_out_unlisted",
        ),
    ] {
        if ids.is_empty() {
            continue;
        }
        let done = if left_out {
            "left out".to_owned()
        } else {
            format!("rated all the same (`{key} = true` leaves them out)")
        };
        warnings.push(format!(
            "catalogue.region: {what} the list of {region}, {done}: {} ({} of {} species)",
            ids.join(", "),
            ids.len(),
            catalogue.species.len()
        ));
        if left_out {
            catalogue.leave_out(&ids);
        }
    }
    Ok(())
}
