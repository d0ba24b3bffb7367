//! How an answer is told: under which question of a grower a calculator stands, its answer as a
//! sentence, and where its formulas come from.

use super::answer::{Answer, Found, Line};
use super::calculator::{Calculator, capital};
use super::{more_tellings, registry};
use crate::science::units::Units;

/// What a grower asks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Question {
    Dose,
    Holds,
    Pump,
    Drain,
    Soak,
    Air,
    Water,
    Readings,
    Conversions,
}

impl Question {
    /// In the order of the list.
    pub const ALL: [Self; 9] = [
        Self::Dose,
        Self::Holds,
        Self::Pump,
        Self::Drain,
        Self::Soak,
        Self::Air,
        Self::Water,
        Self::Readings,
        Self::Conversions,
    ];

    /// The heading in the list.
    pub fn words(self) -> &'static str {
        match self {
            Self::Dose => "Dose",
            Self::Holds => "What it holds",
            Self::Pump => "Pump and tubing",
            Self::Drain => "Drain and overflow",
            Self::Soak => "Soak and rinse",
            Self::Air => "Air",
            Self::Water => "Water supply",
            Self::Readings => "Readings and statistics",
            Self::Conversions => "Conversions",
        }
    }

    /// The calculators that answer it.
    pub fn calculators(self) -> impl Iterator<Item = &'static Calculator> {
        registry::all().filter(move |calculator| calculator.asks() == self)
    }
}

/// How the answers of one calculator are told.
#[derive(Debug)]
pub(super) struct Telling {
    pub(super) name: &'static str,
    /// The answer as a sentence, with the keys of outputs in braces. The first whose outputs were all
    /// found is taken.
    pub(super) headlines: &'static [&'static str],
    /// Where the formulas come from; a fact of the trade is 'common practice, no source'.
    pub(super) sources: &'static [&'static str],
}

impl Calculator {
    /// The question that it stands under.
    pub fn asks(&self) -> Question {
        match self.name {
            "bench" | "system" | "media-bucket" | "media-column" | "usual-media" => Question::Holds,
            "pipe" | "barb" | "operating-point" | "flood-time" | "pump-curve"
            | "friction-factor" | "fitting" | "hazen-williams" => Question::Pump,
            "drain-time" | "overflow" | "mixing" | "hole" | "standpipe" => Question::Drain,
            "rinse" | "decay" | "soak" | "top-up" | "contact" | "warmth" => Question::Soak,
            "vapour" | "air-clearing" | "air-build-up" | "air-changes" | "oxygen" => Question::Air,
            "membrane" | "water-tank" => Question::Water,
            "flow-test" | "clogging" | "spread" | "ewma" | "cusum" | "trend" => Question::Readings,
            "density" | "strength" | "volume" | "length" | "mass" | "temperature" | "flow"
            | "water" | "gas-in-air" => Question::Conversions,
            _ => Question::Dose,
        }
    }

    /// Its name as a heading: 'Air clearing'.
    pub fn title(&self) -> String {
        capital(&self.name.replace('-', " "))
    }

    /// Where its formulas come from.
    pub fn sources(&self) -> &'static [&'static str] {
        self.telling().map_or(&[], |telling| telling.sources)
    }

    fn telling(&self) -> Option<&'static Telling> {
        let mut all = TELLINGS.iter().chain(more_tellings::TELLINGS);
        all.find(|telling| telling.name == self.name)
    }

    /// The answer as a sentence, in the reader's units: its own, else the first line that was found,
    /// else why nothing was.
    pub fn headline(&self, answer: &Answer, units: Units) -> String {
        let headlines = self.telling().map_or(&[][..], |telling| telling.headlines);
        let filled = |headline: &&'static str| self.fill(headline, answer, units);
        let first = || {
            answer.lines.iter().find_map(|line| {
                let label = capital(self.output(line.key)?.says);
                Some(format!("{label}: {}.", self.shown(line, units)?))
            })
        };
        headlines
            .iter()
            .find_map(filled)
            .or_else(first)
            .unwrap_or_else(|| {
                let why = answer.lines.iter().find(|line| line.found == Found::None);
                let why = why.map_or("There is no answer", |line| line.working.as_str());
                format!("{}.", capital(why))
            })
    }

    fn fill(&self, headline: &str, answer: &Answer, units: Units) -> Option<String> {
        let mut sentence = String::new();
        let mut parts = headline.split(['{', '}']);
        while let Some(words) = parts.next() {
            sentence.push_str(words);
            if let Some(key) = parts.next() {
                let line = answer.lines.iter().find(|line| line.key == key)?;
                sentence.push_str(&self.shown(line, units)?);
            }
        }
        Some(capital(&sentence))
    }

    /// What a line found, in the reader's units; nothing where it found nothing.
    pub fn shown(&self, line: &Line, units: Units) -> Option<String> {
        match &line.found {
            Found::Number(number) => Some(self.output(line.key)?.kind.show(*number, units)),
            Found::List(numbers) => {
                let kind = self.output(line.key)?.kind;
                let shown: Vec<String> = numbers
                    .iter()
                    .map(|number| kind.show(*number, units))
                    .collect();
                Some(shown.join("; "))
            }
            Found::Words(words) => Some(words.clone()),
            Found::None => None,
        }
    }
}

const AVAILABLE: &str = "Available chlorine: 70.906/74.4422 of sodium hypochlorite by weight (definitions of available chlorine, and of trade percent in a producers' product profile)";
const DENSITY: &str = "Density: coefficients from published code, attributed to Easton, Mitchell and Wynne-Jones, Trans. Faraday Soc., 1952 (attribution from memory); within 0.0003 g/mL of the handbook table at 18 °C";
const MOLAR: &str = "Molar mass 34.0147 g/mol: IUPAC masses, in a published data file";

static TELLINGS: &[Telling] = &[
    Telling {
        name: "density",
        headlines: &["A litre weighs {density_kg_per_l}; by weight it is {percent_ww}."],
        sources: &[DENSITY],
    },
    Telling {
        name: "strength",
        headlines: &["It is {percent_ww}, which is {percent_wv} or {grams_per_l}."],
        sources: &[
            DENSITY,
            MOLAR,
            "Volume strength: litres of oxygen at 0 °C and 1 atm, 22.414 L/mol ÷ 2, stoichiometry",
        ],
    },
    Telling {
        name: "titration",
        headlines: &[
            "The stock holds {grams_per_l}, {percent_ww}.",
            "The stock holds {grams_per_l}.",
        ],
        sources: &[
            "Permanganate: hydrogen peroxide topical solution monograph (USP), assay, 1.701 mg for each mL of 0.1 N",
            "Thiosulfate: iodometric titration of peroxide, application note of an instrument maker",
            MOLAR,
        ],
    },
    Telling {
        name: "dose",
        headlines: &[
            "{concentrate_l} of concentrate into {water_l} of purified water; the finished solution is {finished_ww}.",
        ],
        sources: &[
            "Conservation of mass over heel, retained water, concentrate and fresh water",
            DENSITY,
            "Loss of 2 % a year where an age is given: from memory",
        ],
    },
    Telling {
        name: "stock-age",
        headlines: &["About {percent_ww} is left, {grams_per_l}."],
        sources: &[
            "First-order loss; 'under 1 % a year' is a maker's claim, 2 % in small packs is from memory",
            DENSITY,
        ],
    },
    Telling {
        name: "decomposition",
        headlines: &["Up to {heat_most_kj} of heat and {oxygen_l} of oxygen."],
        sources: &[
            "Heat 98.0 kJ/mol pure: standard thermochemical tables (NBS / CRC); 94.6 kJ/mol dilute: from memory",
            MOLAR,
            "Oxygen as an ideal gas at 1 atm",
        ],
    },
    Telling {
        name: "warming",
        headlines: &["It {ends}."],
        sources: &[
            "Heat 98.0 kJ/mol pure: standard thermochemical tables (NBS / CRC); 94.6 kJ/mol dilute: from memory",
            "Heat capacity: M. Laliberté, J. Chem. Eng. Data 54, 2009, parameters from an open data file",
            "Boiling at 100 °C and 1 atm, heat of steam 2257 kJ/kg: from memory",
        ],
    },
    Telling {
        name: "density-check",
        headlines: &[
            "{second_kg_per_l} by the second model, {density_kg_per_l} by the one in use: {differs_percent} apart.",
        ],
        sources: &[
            DENSITY,
            "Second model: M. Laliberté, J. Chem. Eng. Data 54, 2009, parameters from an open data file",
        ],
    },
    Telling {
        name: "label-rate",
        headlines: &[
            "{product_in_mix_l} of product if the rate counts in the mix, {product_to_water_l} if it is to the water.",
            "{product_kg} of powder, filled up to the mix.",
        ],
        sources: &["Arithmetic of the rate; the label says which reading is meant"],
    },
    Telling {
        name: "injector",
        headlines: &[
            "The stock is {stock_one_in_n_mg_per_l} for one part in N, {stock_one_and_n_mg_per_l} for one part and N.",
        ],
        sources: &["Arithmetic of the ratio; the maker says which reading is meant"],
    },
    Telling {
        name: "meet",
        headlines: &[
            "May they meet? {may_meet}. {what}.",
            "May they meet? {may_meet}.",
        ],
        sources: &["Each pair's own, in the answer; those from memory say so"],
    },
    Telling {
        name: "parts",
        headlines: &[
            "{parts} parts of water for one of stock: {stock_l} of stock and {water_l} of water.",
        ],
        sources: &["Arithmetic: strength of the stock ÷ strength wanted − 1"],
    },
    Telling {
        name: "chlorine-strength",
        headlines: &[
            "{trade_percent}, {available_ww}, {hypochlorite_ww}.",
            "{trade_percent}; give what a litre weighs for the others.",
            "{available_ww}, {hypochlorite_ww}; give what a litre weighs for grams in a litre.",
        ],
        sources: &[AVAILABLE],
    },
    Telling {
        name: "chlorine-dose",
        headlines: &["{product_l} of product and {water_l} of water."],
        sources: &[AVAILABLE],
    },
    Telling {
        name: "chlorine-added",
        headlines: &[
            "{counted_mg_per_l} of available chlorine; charts print {not_counted_mg_per_l}.",
        ],
        sources: &[AVAILABLE],
    },
    Telling {
        name: "bench",
        headlines: &[
            "Flooded for a clean-out to {clean_out_level_mm}, the bench takes {clean_out_void_l} in the media and {clean_out_free_l} over and beside them. Clean-out riser: {riser_mm}.",
        ],
        sources: &[
            "Geometry: level water over a floor that falls",
            "Usual media fractions: published ranges, some from memory; the bucket test wins",
        ],
    },
    Telling {
        name: "system",
        headlines: &[
            "The whole system holds {total_l}; the first fill takes {first_fill_l}. The reservoir takes it back: {return_fits}.",
        ],
        sources: &[
            "Geometry: level water over a floor that falls",
            "Usual media fractions: published ranges, some from memory; the bucket test wins",
        ],
    },
    Telling {
        name: "media-bucket",
        headlines: &["Drainable {drainable}, retained {retained}."],
        sources: &["Saturation and drainage method of university extension practice"],
    },
    Telling {
        name: "pipe",
        headlines: &[
            "The tube and its fittings lose {head_mm} of head at {velocity_m_per_s}, {regime}.",
        ],
        sources: &[
            "Darcy-Weisbach; friction by Colebrook, J. ICE, 1939; a marked band between laminar and turbulent",
            "Fittings: textbook K, from memory, ±30 %",
        ],
    },
    Telling {
        name: "barb",
        headlines: &["The barb counts as K = {k}."],
        sources: &["Sudden contraction and expansion (Borda-Carnot): textbook, from memory, ±30 %"],
    },
    Telling {
        name: "operating-point",
        headlines: &[
            "Between {lower_l_per_min} and {upper_l_per_min}.",
            "At most {upper_l_per_min}; at worst no flow.",
        ],
        sources: &[
            "Pump curves: US EPA water network manual",
            "Darcy-Weisbach; friction by Colebrook, J. ICE, 1939; a marked band between laminar and turbulent",
            "Fittings: textbook K, from memory, ±30 %",
        ],
    },
    Telling {
        name: "flood-time",
        headlines: &[
            "Flooded in {quickest_min} to {slowest_min}; plan with the longer.",
            "Flooded in {quickest_min} at best; at worst the pump does not get there.",
        ],
        sources: &[
            "Pump curves: US EPA water network manual",
            "Darcy-Weisbach; friction by Colebrook, J. ICE, 1939; a marked band between laminar and turbulent",
            "Fittings: textbook K, from memory, ±30 %",
        ],
    },
    Telling {
        name: "drain-time",
        headlines: &["Plan {planned_min} for the drain."],
        sources: &[
            "Pipe running full: energy equation with Darcy-Weisbach",
            "Hole alone: orifice equation, from memory",
            "Fittings: textbook K, from memory, ±30 %",
        ],
    },
    Telling {
        name: "overflow",
        headlines: &[
            "Cannot run over: {safe}. The highest water stands at {highest_water_mm}, {dry_wall_mm} under the wall's top. Wrong: {faults}.",
        ],
        sources: &[
            "Riser as weir and drowned mouth, the smaller counts: riser equations of stormwater practice",
            "Half the capacity under a strainer: common practice, no source",
        ],
    },
    Telling {
        name: "mixing",
        headlines: &["{turnovers} turnovers; mixed to {mixed} if the loop runs steadily."],
        sources: &["Well-mixed tank: Gage and Bidwell's law of dilution"],
    },
    Telling {
        name: "rinse",
        headlines: &[
            "{rinses} rinses are expected to bring it to {residual_mg_per_l}, with {water_l} of water.",
        ],
        sources: &[
            "Serial dilution, no decay counted",
            "Mixing of 0.8: common practice, no source; a strip decides",
        ],
    },
    Telling {
        name: "decay",
        headlines: &[
            "Half is gone in {half_life_min}; plan with a rate of {fastest}.",
            "No loss shows; plan with a rate of {fastest}.",
        ],
        sources: &[
            "First-order loss, least squares on logarithms; half a colour step of error each way",
        ],
    },
    Telling {
        name: "soak",
        headlines: &[
            "Keeps the label's strength all the time: {keeps_label}. At the end {least_mg_per_l} are left.",
        ],
        sources: &[
            "First-order loss and its integral",
            "Colder water: about twice the contact for each 10 °C, drinking-water contact guidance",
        ],
    },
    Telling {
        name: "top-up",
        headlines: &[
            "After {due_after_min} bring the solution to {bring_to_mg_per_l}: {peroxide_kg} of pure peroxide.",
            "{plan}.",
        ],
        sources: &["First-order loss and mass balance"],
    },
    Telling {
        name: "vapour",
        headlines: &["At most {at_most_ppm}, {at_most_mg_per_m3}, in still air over the solution."],
        sources: &[
            "Scatchard, Kavanagh and Ticknor, J. Am. Chem. Soc. 74, 1952 (coefficients from memory), ±20 %",
        ],
    },
    Telling {
        name: "air-clearing",
        headlines: &[
            "Stay out for {stay_out_min}: {decided_by} decides.",
            "The average is down to the limit after {air_min}; that is no leave to enter.",
        ],
        sources: &[
            "Well-mixed room with a mixing factor",
            "The label's or the law's re-entry time, as typed",
        ],
    },
    Telling {
        name: "air-changes",
        headlines: &[
            "{removed_min} to remove the part at perfect mixing; the air changes take {count_min}; the fan gives {fan_m3_per_h}.",
        ],
        sources: &["Air change tables: US CDC 2003, Table B.1, and Health Canada 1996, Appendix F"],
    },
    Telling {
        name: "oxygen",
        headlines: &["Oxygen rises to {oxygen_percent} at most. Feeds a fire: {may_feed_a_fire}."],
        sources: &[
            "Ideal gas, half a mole of oxygen for a mole of peroxide",
            "23.5 %: US workplace limit, from memory",
        ],
    },
    Telling {
        name: "flow-test",
        headlines: &["{flow_l_per_min}, ± {error_l_per_min}."],
        sources: &[
            "Volume over time; errors added as the root of squares; 95 % of several runs by Student's t",
        ],
    },
    Telling {
        name: "clogging",
        headlines: &["Verdict: {verdict}."],
        sources: &[
            "Slope: Theil 1950, Sen 1968; trend: Mann 1945, Kendall 1975",
            "Sudden falls: CUSUM, NIST/SEMATECH e-Handbook 6.3.2.3",
        ],
    },
    Telling {
        name: "membrane",
        headlines: &["{flow_l_per_h} at that feed temperature."],
        sources: &[
            "Temperature correction: a fit to a thin-film membrane maker's chart, and the table of a water treatment guide; the larger counts",
        ],
    },
    Telling {
        name: "water-tank",
        headlines: &["{tank_l} must stand ready; begin to fill {prefill_min} before."],
        sources: &["Draw less supply, summed to the last fill"],
    },
];
