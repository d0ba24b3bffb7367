//! How the answers of the smaller calculators are told, as in [`super::telling`].

use super::telling::Telling;

pub(super) static TELLINGS: &[Telling] = &[
    Telling {
        name: "dose-by-weight",
        headlines: &["Weigh {concentrate_kg} of concentrate into {water_kg} of water."],
        sources: &["Conservation of mass"],
    },
    Telling {
        name: "water",
        headlines: &[
            "A cubic metre weighs {density_kg_per_m3}; the viscosity is {viscosity_mpa_s}.",
        ],
        sources: &[
            "Density: Kell, 1975",
            "Viscosity: IAPWS R12-08 (coefficients from memory, held to published values)",
            "Vapour pressure: IAPWS SR1-86, after Wagner and Pruss (coefficients from memory)",
        ],
    },
    Telling {
        name: "friction-factor",
        headlines: &["The friction factor is {factor}, {regime}."],
        sources: &[
            "Colebrook, J. ICE, 1939; Haaland, J. Fluids Eng., 1983; Swamee and Jain, ASCE, 1976; Churchill, Chem. Eng., 1977; Blasius, 1913",
        ],
    },
    Telling {
        name: "fitting",
        headlines: &["It counts as K = {k}."],
        sources: &["Textbook loss table, from memory, ±30 %"],
    },
    Telling {
        name: "hazen-williams",
        headlines: &["The rule states {head_mm} where {darcy_mm} are lost."],
        sources: &[
            "Hazen and Williams, in the forms of water supply (SI) and of fire and irrigation practice (US)",
            "Beside it: Darcy-Weisbach with Colebrook",
        ],
    },
    Telling {
        name: "pump-curve",
        headlines: &["Between {lower_head_mm} and {upper_head_mm} of head."],
        sources: &[
            "Pump curves: US EPA water network manual",
            "Affinity laws for another speed: textbook, from memory",
        ],
    },
    Telling {
        name: "hole",
        headlines: &["{flow_l_per_min} at the start."],
        sources: &["Torricelli; discharge coefficients are textbook values, from memory"],
    },
    Telling {
        name: "standpipe",
        headlines: &["It passes {flow_l_per_min}; {limit} sets that."],
        sources: &[
            "Riser as weir and drowned mouth, the smaller counts: riser equations of stormwater practice",
        ],
    },
    Telling {
        name: "contact",
        headlines: &["Contact of {contact}."],
        sources: &[
            "First-order loss and its integral; two readings alone bias it (Aqua 57(3):165, 2008)",
        ],
    },
    Telling {
        name: "warmth",
        headlines: &["The rate there is {factor} times the rate here."],
        sources: &[
            "Arrhenius; 57.6 kJ/mol: calorimetry of 35 % peroxide",
            "Colder soak: about twice the contact for each 10 °C, drinking-water contact guidance",
        ],
    },
    Telling {
        name: "air-build-up",
        headlines: &["After that time {after_mg_per_m3}, on the way to {steady_mg_per_m3}."],
        sources: &["Well-mixed room with a mixing factor"],
    },
    Telling {
        name: "usual-media",
        headlines: &["Drainable {drainable}, retained {retained}."],
        sources: &["As the line of its source says"],
    },
    Telling {
        name: "media-column",
        headlines: &["It keeps {retained} of its bulk."],
        sources: &["Water-holding curve: van Genuchten, SSSAJ, 1980, equation 3"],
    },
    Telling {
        name: "spread",
        headlines: &["Mean {mean}, standard deviation {sd}."],
        sources: &["Arithmetic"],
    },
    Telling {
        name: "ewma",
        headlines: &["Limits {lower} to {upper}."],
        sources: &["NIST/SEMATECH e-Handbook 6.3.2.4"],
    },
    Telling {
        name: "cusum",
        headlines: &["Largest sums: {most_high} above, {most_low} below."],
        sources: &["NIST/SEMATECH e-Handbook 6.3.2.3"],
    },
    Telling {
        name: "trend",
        headlines: &["It changes by {slope} for one of time, {low} to {high}."],
        sources: &["Slope: Theil 1950, Sen 1968; trend: Mann 1945, Kendall 1975"],
    },
    Telling {
        name: "volume",
        headlines: &["It is {l}, {us_gal} or {imp_gal}."],
        sources: &["US gallon 231 cubic inches, imperial gallon 4.54609 L: exact"],
    },
    Telling {
        name: "length",
        headlines: &["It is {mm} or {in}."],
        sources: &["Inch 25.4 mm: exact"],
    },
    Telling {
        name: "mass",
        headlines: &["It is {kg} or {lb}."],
        sources: &["Pound 453.59237 g: exact"],
    },
    Telling {
        name: "temperature",
        headlines: &["It is {celsius} or {fahrenheit}."],
        sources: &["Definition of the degrees"],
    },
    Telling {
        name: "flow",
        headlines: &["It is {l_per_min}, {m3_per_h} or {us_gal_per_min}."],
        sources: &["Exact units"],
    },
    Telling {
        name: "gas-in-air",
        headlines: &["{in_ppm} is {mg_per_m3}."],
        sources: &["Ideal gas at 1 atm"],
    },
];
