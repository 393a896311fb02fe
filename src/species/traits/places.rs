//! Short names of states and provinces, for lists that would fill a page. The codes are
//! those of the two postal services.

const CODES: &[(&str, &str)] = &[
    ("Alabama", "AL"),
    ("Alaska", "AK"),
    ("Alberta", "AB"),
    ("Arizona", "AZ"),
    ("Arkansas", "AR"),
    ("British Columbia", "BC"),
    ("California", "CA"),
    ("Colorado", "CO"),
    ("Connecticut", "CT"),
    ("Delaware", "DE"),
    ("District of Columbia", "DC"),
    ("Florida", "FL"),
    ("Georgia", "GA"),
    ("Hawaii", "HI"),
    ("Idaho", "ID"),
    ("Illinois", "IL"),
    ("Indiana", "IN"),
    ("Iowa", "IA"),
    ("Kansas", "KS"),
    ("Kentucky", "KY"),
    ("Louisiana", "LA"),
    ("Maine", "ME"),
    ("Manitoba", "MB"),
    ("Maryland", "MD"),
    ("Massachusetts", "MA"),
    ("Michigan", "MI"),
    ("Minnesota", "MN"),
    ("Mississippi", "MS"),
    ("Missouri", "MO"),
    ("Montana", "MT"),
    ("Nebraska", "NE"),
    ("Nevada", "NV"),
    ("New Brunswick", "NB"),
    ("New Hampshire", "NH"),
    ("New Jersey", "NJ"),
    ("New Mexico", "NM"),
    ("New York", "NY"),
    ("North Carolina", "NC"),
    ("North Dakota", "ND"),
    ("Northwest Territories", "NT"),
    ("Nova Scotia", "NS"),
    ("Nunavut", "NU"),
    ("Ohio", "OH"),
    ("Oklahoma", "OK"),
    ("Ontario", "ON"),
    ("Oregon", "OR"),
    ("Pennsylvania", "PA"),
    ("Prince Edward Island", "PE"),
    ("Puerto Rico", "PR"),
    ("Quebec", "QC"),
    ("Rhode Island", "RI"),
    ("Saskatchewan", "SK"),
    ("South Carolina", "SC"),
    ("South Dakota", "SD"),
    ("Tennessee", "TN"),
    ("Texas", "TX"),
    ("Utah", "UT"),
    ("Vermont", "VT"),
    ("Virginia", "VA"),
    ("Washington", "WA"),
    ("West Virginia", "WV"),
    ("Wisconsin", "WI"),
    ("Wyoming", "WY"),
    ("Yukon", "YT"),
];

/// Lists of at most so many places are written out.
const WRITTEN_OUT: usize = 5;

/// A list of places parted by semicolons, as codes where it is long; what has no code
/// keeps its name.
#[must_use]
pub fn abbreviated(list: &str) -> String {
    let places: Vec<&str> = list.split(';').map(str::trim).collect();
    if places.len() <= WRITTEN_OUT {
        return list.to_owned();
    }
    let short: Vec<&str> = places.iter().map(|place| code(place).unwrap_or(place)).collect();
    short.join(if short.iter().all(|place| place.len() == 2) {
        " "
    } else {
        ", "
    })
}

/// The code of a place.
fn code(place: &str) -> Option<&'static str> {
    let held = CODES.iter().find(|(name, _)| name.eq_ignore_ascii_case(place));
    held.map(|(_, code)| *code)
}

/// The name that stands in catalogues for a code or a name.
#[must_use]
pub fn full_name(place: &str) -> &str {
    let held = CODES.iter().find(|(_, code)| code.eq_ignore_ascii_case(place));
    held.map_or(place, |(name, _)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_lists_are_told_as_codes() {
        assert_eq!(abbreviated("Ohio; Texas"), "Ohio; Texas");
        let long = "Iowa; Maine; New York; Ohio; Ontario; Texas";
        assert_eq!(abbreviated(long), "IA ME NY OH ON TX");
        assert_eq!(
            abbreviated(&format!("{long}; Labrador")),
            "IA, ME, NY, OH, ON, TX, Labrador"
        );
    }

    #[test]
    fn no_code_stands_twice() {
        for (place, (name, code)) in CODES.iter().enumerate() {
            assert!(
                CODES[..place]
                    .iter()
                    .all(|other| other.0 != *name && other.1 != *code)
            );
            assert_eq!(full_name(&code.to_lowercase()), *name);
        }
    }
}
