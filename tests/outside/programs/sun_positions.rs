//! Prints where the sun stands at every hour of a year, for the checks against other
//! libraries: `sun_positions LATITUDE LONGITUDE FIRST_JULIAN_DAY HOURS`, then on each line
//! the Julian day, the height without refraction and the bearing, in degrees.

#![allow(clippy::print_stdout, reason = "printing is all it does")]

use groundfit::site::sun::position::{DELTA_T_S, Moment, sun_position};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let numbers = std::env::args().skip(1).map(|text| text.parse());
    let numbers: Vec<f64> = numbers.collect::<Result<_, _>>()?;
    let [latitude, longitude, first, hours] = numbers[..] else {
        return Err("needed are LATITUDE LONGITUDE FIRST_JULIAN_DAY HOURS".into());
    };
    let mut hour = 0.0;
    while hour < hours {
        let julian_day = first + hour / 24.0;
        let moment = Moment {
            julian_day,
            delta_t_s: DELTA_T_S,
        };
        let sun = sun_position(moment, latitude, longitude);
        println!("{julian_day:.8},{:.6},{:.6}", sun.height_deg, sun.azimuth_deg);
        hour += 1.0;
    }
    Ok(())
}
