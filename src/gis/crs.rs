//! Coordinate reference systems: from text, from files, and what is known of
//! them. x is east or longitude and y north or latitude everywhere; vertical
//! parts are taken off. Knows no layers.

use gdal::config::{clear_thread_local_config_option, set_thread_local_config_option};
use gdal::errors::GdalError;
use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};

use super::{GisError, c_interface, messages};
use crate::grid::{Crs, Extent};

/// What is known of a coordinate reference system.
#[derive(Debug, Clone, PartialEq)]
pub struct CrsFacts {
    /// Longitude and latitude.
    pub geographic: bool,
    /// A plane.
    pub projected: bool,
    /// Metres in one unit of a plane: 1, or 0.3048 for feet.
    pub metres_per_unit: Option<f64>,
    /// The name of the unit.
    pub unit: Option<String>,
    /// Where the system may be used, in longitude and latitude.
    pub area_of_use: Option<Extent>,
    /// The name of the datum.
    pub datum: Option<String>,
}

/// The system a text names: `EPSG:26915`, well-known text or a PROJ text.
///
/// # Errors
/// A text that names none, or one not tied to the ground.
pub fn crs_from_text(text: &str) -> Result<Crs, GisError> {
    messages::forget();
    let text = text.trim();
    let wrong = |reason: String| GisError::Crs {
        text: text.to_owned(),
        reason,
    };
    // Such a text would be looked up elsewhere, and the run would hang on it.
    if text.is_empty() || text.contains("://") {
        return Err(wrong("it names nothing".to_owned()));
    }
    let found = SpatialRef::from_definition(text).map_err(|error| {
        let reason = messages::reason(&error);
        // Often GDAL has nothing to say but a number.
        wrong(if reason.starts_with("OGR method") {
            "neither a code, nor well-known text, nor a PROJ text".to_owned()
        } else {
            reason
        })
    })?;
    if !tied_to_ground(&found) {
        return Err(wrong("it is not tied to the ground".to_owned()));
    }
    described(&found).map_err(|error| wrong(messages::reason(&error)))
}

/// Longitude and latitude on WGS 84.
///
/// # Errors
/// When PROJ has no database.
pub fn lon_lat() -> Result<Crs, GisError> {
    crs_from_text("EPSG:4326")
}

/// What is known of a system.
///
/// # Errors
/// When its well-known text cannot be read.
pub fn crs_facts(crs: &Crs) -> Result<CrsFacts, GisError> {
    let reference = reference(crs)?;
    let projected = reference.is_projected();
    let area_of_use = reference.area_of_use().map(|area| Extent {
        west: area.west_lon_degree,
        south: area.south_lat_degree,
        east: area.east_lon_degree,
        north: area.north_lat_degree,
    });
    Ok(CrsFacts {
        geographic: reference.is_geographic(),
        projected,
        metres_per_unit: projected.then(|| reference.linear_units()),
        unit: if projected {
            reference.linear_units_name()
        } else {
            reference.angular_units_name()
        },
        area_of_use,
        datum: reference.get_attr_value("DATUM", 0).ok().flatten(),
    })
}

/// The UTM zone of a place, in the datum of another system.
///
/// # Units
/// Longitude and latitude in degrees.
///
/// # Errors
/// A place that is none, or a system whose datum cannot be told.
pub fn utm_zone_for(lon: f64, lat: f64, datum_of: &Crs) -> Result<Crs, GisError> {
    if !(lon.abs() <= 180.0 && lat.abs() <= 84.0) {
        return Err(GisError::Crs {
            text: format!("UTM zone at longitude {lon}, latitude {lat}"),
            reason: "zones cover longitudes of -180 to 180 and latitudes of -84 to 84".to_owned(),
        });
    }
    let base = reference(datum_of)?.geog_cs().map_err(|error| GisError::Crs {
        text: datum_of.label(),
        reason: messages::reason(&error),
    })?;
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the longitude lies within -180 and 180"
    )]
    let zone = (((lon + 180.0) / 6.0).floor() as u32 + 1).min(60);
    let north = lat >= 0.0;
    let code = match base.authority().as_deref() {
        Ok("EPSG:4269") if north && zone <= 23 => Some(26900 + zone),
        Ok("EPSG:6318") if north && zone <= 19 => Some(6329 + zone),
        Ok("EPSG:4267") if north && zone <= 22 => Some(26700 + zone),
        Ok("EPSG:4258") if north && (28..=38).contains(&zone) => Some(25800 + zone),
        Ok("EPSG:4326") => Some(if north { 32600 } else { 32700 } + zone),
        _ => None,
    };
    if let Some(code) = code {
        return crs_from_text(&format!("EPSG:{code}"));
    }
    let (name, base) = (base.name(), base.to_wkt());
    let base = base.map_err(|error| GisError::Crs {
        text: datum_of.label(),
        reason: messages::reason(&error),
    })?;
    crs_from_text(&format!(
        "PROJCS[\"{} / UTM zone {zone}{}\",{base},PROJECTION[\"Transverse_Mercator\"],\
         PARAMETER[\"latitude_of_origin\",0],PARAMETER[\"central_meridian\",{}],\
         PARAMETER[\"scale_factor\",0.9996],PARAMETER[\"false_easting\",500000],\
         PARAMETER[\"false_northing\",{}],UNIT[\"metre\",1],AXIS[\"Easting\",EAST],AXIS[\"Northing\",NORTH]]",
        name.unwrap_or_default(),
        if north { "N" } else { "S" },
        f64::from(zone) * 6.0 - 183.0,
        if north { 0 } else { 10_000_000 },
    ))
}

/// Whether two systems are the same, whatever they are called.
#[must_use]
pub fn same_system(one: &Crs, other: &Crs) -> bool {
    one.wkt == other.wkt || matches!((reference(one), reference(other)), (Ok(one), Ok(other)) if one == other)
}

/// Why coordinates can hardly be in the system they are said to be in, or
/// nothing when they can.
#[must_use]
pub fn coordinates_doubt(extent: &Extent, crs: &Crs) -> Option<String> {
    let reference = reference(crs).ok()?;
    let largest = |a: f64, b: f64| a.abs().max(b.abs());
    let (x, y) = (
        largest(extent.west, extent.east),
        largest(extent.south, extent.north),
    );
    let spans = format!(
        "x {} to {}, y {} to {}",
        extent.west, extent.east, extent.south, extent.north
    );
    let label = crs.label();
    // A cell of margin: global grids may reach half a cell past the pole.
    if reference.is_geographic() && (x > 361.0 || y > 91.0) {
        return Some(format!(
            "its coordinates ({spans}) cannot be degrees, but {label} is longitude and latitude"
        ));
    }
    let degree_like = x <= 180.0 && y <= 90.0 && x.max(y) > 0.0;
    if reference.is_projected() && degree_like && extent.width() < 20.0 && extent.height() < 20.0 {
        let unit = reference.linear_units_name().unwrap_or_default();
        return Some(format!(
            "its coordinates ({spans}) look like degrees, but {label} counts in {unit}"
        ));
    }
    None
}

/// The same for a layer that may hold a few stray features: nothing when one corner
/// of what it covers can be right.
pub(super) fn corners_doubt(extent: &Extent, crs: &Crs) -> Option<String> {
    let corner = |x, y| {
        let corner = Extent {
            west: x,
            south: y,
            east: x,
            north: y,
        };
        coordinates_doubt(&corner, crs)
    };
    let edges = [extent.west, extent.south, extent.east, extent.north];
    if !edges.into_iter().all(f64::is_finite) {
        return None;
    }
    corner(extent.west, extent.south)?;
    corner(extent.east, extent.north)?;
    coordinates_doubt(extent, crs)
}

/// The system of a file: its horizontal part, and the unit of its heights.
pub(super) fn of_file(found: &SpatialRef) -> (Option<Crs>, Option<String>) {
    if !tied_to_ground(found) {
        return (None, None);
    }
    let vertical_unit = found.get_attr_value("VERT_CS|UNIT", 0).ok().flatten();
    (described(found).ok(), vertical_unit)
}

/// The system as GDAL's object, x to the east and y to the north.
pub(super) fn reference(crs: &Crs) -> Result<SpatialRef, GisError> {
    messages::forget();
    let mut reference = SpatialRef::from_wkt(&crs.wkt).map_err(|error| GisError::Crs {
        text: crs.label(),
        reason: messages::reason(&error),
    })?;
    reference.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    Ok(reference)
}

fn tied_to_ground(reference: &SpatialRef) -> bool {
    reference.is_geographic() || reference.is_projected()
}

fn described(reference: &SpatialRef) -> Result<Crs, GdalError> {
    let mut plane = reference.clone();
    c_interface::drop_heights(&mut plane);
    // The older form of the text loses datums and the area of use.
    set_thread_local_config_option("OSR_WKT_FORMAT", "WKT2_2018")?;
    let wkt = plane.to_wkt();
    clear_thread_local_config_option("OSR_WKT_FORMAT")?;
    Ok(Crs {
        wkt: wkt?,
        name: plane.name().unwrap_or_else(|| "unnamed".to_owned()),
        code: plane.authority().ok(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_and_texts_name_a_system() {
        let crs = crs_from_text("EPSG:26915").unwrap();
        assert_eq!(crs.label(), "NAD83 / UTM zone 15N (EPSG:26915)");
        let facts = crs_facts(&crs).unwrap();
        assert!(facts.projected && !facts.geographic);
        assert_eq!(facts.metres_per_unit, Some(1.0));
        assert_eq!(facts.datum.as_deref(), Some("North_American_Datum_1983"));
        let area = facts.area_of_use.unwrap();
        assert!(area.west >= -97.0 && area.east <= -89.0);
        let feet = crs_facts(&crs_from_text("EPSG:2284").unwrap()).unwrap();
        assert!((feet.metres_per_unit.unwrap() - 1200.0 / 3937.0).abs() < 1e-12);
        assert!(crs_facts(&lon_lat().unwrap()).unwrap().geographic);
        let plain = crs_from_text("+proj=utm +zone=15 +datum=NAD83").unwrap();
        assert_eq!(plain.code, None);
        assert!(crs_facts(&plain).unwrap().projected);
    }

    #[test]
    fn nonsense_is_refused_with_the_text_in_the_message() {
        for text in [
            "EPSG:999999",
            "",
            "utm",
            "http://a.invalid/x",
            "\0",
            "LOCAL_CS[\"x\"]",
        ] {
            let error = crs_from_text(text).unwrap_err().to_string();
            assert!(error.contains(&format!("`{text}`")), "{error}");
        }
    }

    #[test]
    fn heights_are_taken_off() {
        let compound = crs_from_text("EPSG:26915+5703").unwrap();
        assert_eq!(compound, crs_from_text("EPSG:26915").unwrap());
        let solid = crs_from_text("EPSG:4979").unwrap();
        assert!(!solid.wkt.contains("ellipsoidal height"));
    }

    #[test]
    fn zones_keep_the_datum() {
        let zone = |datum: &str, lon, lat| {
            let datum = crs_from_text(datum).unwrap();
            utm_zone_for(lon, lat, &datum)
        };
        assert_eq!(
            zone("EPSG:26916", -93.2, 45.0).unwrap().code.unwrap(),
            "EPSG:26915"
        );
        assert_eq!(zone("EPSG:6344", -93.2, 45.0).unwrap().code.unwrap(), "EPSG:6344");
        assert_eq!(
            zone("EPSG:4326", 180.0, -10.0).unwrap().code.unwrap(),
            "EPSG:32760"
        );
        assert_eq!(zone("EPSG:3857", 8.0, 50.0).unwrap().code.unwrap(), "EPSG:32632");
        let amersfoort = zone("EPSG:28992", 5.7, 50.9).unwrap();
        assert_eq!(amersfoort.name, "Amersfoort / UTM zone 31N");
        assert!(
            crs_facts(&amersfoort)
                .unwrap()
                .datum
                .unwrap()
                .contains("Amersfoort")
        );
        assert!(zone("EPSG:4326", 200.0, 0.0).is_err());
    }

    #[test]
    fn degrees_taken_for_metres_are_doubted() {
        let extent = |west, south, east, north| Extent {
            west,
            south,
            east,
            north,
        };
        let (plane, globe) = (crs_from_text("EPSG:26915").unwrap(), lon_lat().unwrap());
        let here = extent(-93.3, 44.9, -93.2, 45.0);
        assert!(
            coordinates_doubt(&here, &plane)
                .unwrap()
                .contains("look like degrees")
        );
        assert_eq!(coordinates_doubt(&here, &globe), None);
        let metres = extent(484_000.0, 4_982_000.0, 485_000.0, 4_983_000.0);
        assert!(
            coordinates_doubt(&metres, &globe)
                .unwrap()
                .contains("cannot be degrees")
        );
        assert_eq!(coordinates_doubt(&metres, &plane), None);
        assert!(corners_doubt(&metres, &globe).is_some());
        let with_a_stray_point = extent(-93.3, 44.9, 485_000.0, 4_983_000.0);
        assert_eq!(corners_doubt(&with_a_stray_point, &globe), None);
        assert_eq!(corners_doubt(&with_a_stray_point, &plane), None);
    }
}
