//! Where formulas come from that more than one calculator uses.

pub(super) const AVAILABLE: &str = "Available chlorine: 70.906/74.4422 of sodium hypochlorite by weight (definitions of available chlorine, and of trade percent in a producers' product profile)";
pub(super) const DENSITY: &str = "Density: coefficients from published code, attributed to Easton, Mitchell and Wynne-Jones, Trans. Faraday Soc., 1952 (attribution from memory); within 0.0003 g/mL of the handbook table at 18 °C";
pub(super) const FITTINGS: &str = "Fittings: textbook K, from memory, ±30 %";
pub(super) const FRICTION: &str = "Darcy-Weisbach; friction by Colebrook, J. ICE, 1939; a marked band between laminar and turbulent";
pub(super) const GEOMETRY: &str = "Geometry: level water over a floor that falls";
pub(super) const HEAT: &str = "Heat 98.0 kJ/mol pure: standard thermochemical tables (NBS / CRC); 94.6 kJ/mol dilute: from memory";
pub(super) const USUAL_FRACTIONS: &str =
    "Usual media fractions: published ranges, some from memory; the bucket test wins";
pub(super) const MOLAR: &str = "Molar mass 34.0147 g/mol: IUPAC masses, in a published data file";
pub(super) const PUMP_CURVES: &str = "Pump curves: US EPA water network manual";
pub(super) const RISER: &str =
    "Riser as weir and drowned mouth, the smaller counts: riser equations of stormwater practice";
pub(super) const MIXED_ROOM: &str = "Well-mixed room with a mixing factor";
pub(super) const TREND: &str = "Slope: Theil 1950, Sen 1968; trend: Mann 1945, Kendall 1975";
