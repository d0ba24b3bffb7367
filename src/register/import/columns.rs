//! Which columns each kind of row has, and the fields of the forms that they fill.

use super::What;

/// A column and the field of the form that it fills: with the unit that its name says, and with
/// what an empty cell stands for.
pub(super) struct Fills {
    pub(super) column: &'static str,
    pub(super) field: &'static str,
    pub(super) unit: &'static str,
    pub(super) empty: &'static str,
}

const fn words(column: &'static str, field: &'static str) -> Fills {
    usual(column, field, "")
}

const fn usual(column: &'static str, field: &'static str, empty: &'static str) -> Fills {
    Fills {
        column,
        field,
        unit: "",
        empty,
    }
}

const fn figure(column: &'static str, field: &'static str, unit: &'static str) -> Fills {
    Fills {
        column,
        field,
        unit,
        empty: "",
    }
}

pub(super) const ROOM: &[Fills] = &[
    words("name", "name"),
    words("air_m3", "air"),
    words("air_changes_per_day", "air_changes"),
];
pub(super) const SYSTEM: &[Fills] = &[
    words("name", "name"),
    words("room", "room"),
    words("note", "note"),
];
pub(super) const RESERVOIR: &[Fills] = &[
    words("system", "system"),
    figure("capacity_l", "capacity", "L"),
    figure("length_mm", "length", "mm"),
    figure("width_mm", "width", "mm"),
    figure("height_mm", "height", "mm"),
    figure("heel_l", "heel", "L"),
    usual("heel_known", "heel_known", "usual figure"),
    figure("pump_need_l", "pump_need", "L"),
];
pub(super) const BENCH: &[Fills] = &[
    words("system", "system"),
    words("name", "name"),
    figure("length_mm", "length", "mm"),
    figure("width_mm", "width", "mm"),
    figure("floor_fall_mm", "floor_fall", "mm"),
    figure("wall_mm", "wall", "mm"),
    figure("overflow_mm", "overflow", "mm"),
    words("media", "media"),
    figure("media_depth_mm", "media_depth", "mm"),
    usual("media_lie", "media_lie", "level"),
    words("drainable_percent", "drainable"),
    words("retained_percent", "retained"),
    figure("riser_mm", "riser", "mm"),
    figure("floor_height_mm", "floor_height", "mm"),
    figure("recess_l", "recess", "L"),
    figure("solids_l", "solids", "L"),
    figure("overflow_bore_mm", "overflow_bore", "mm"),
    words("overflow_count", "overflows"),
    words("overflow_keeps_percent", "overflow_keeps"),
    figure("drain_bore_mm", "drain_bore", "mm"),
];
pub(super) const PUMP: &[Fills] = &[
    words("system", "system"),
    words("name", "name"),
    words("kind", "kind"),
    words("max_flow_l_per_h", "max_flow"),
    figure("max_head_mm", "max_head", "mm"),
    words("point_flow_l_per_h", "point_flow"),
    figure("point_head_mm", "point_head", "mm"),
    figure("lift_mm", "lift", "mm"),
    words("last_teardown_on", "last_teardown"),
];
pub(super) const TUBING: &[Fills] = &[
    words("system", "system"),
    words("name", "name"),
    words("purpose", "purpose"),
    figure("bore_mm", "bore", "mm"),
    figure("length_mm", "length", "mm"),
    figure("rise_mm", "rise", "mm"),
    words("fittings_k", "fittings"),
    words("tube_wall", "wall"),
];
pub(super) const JUG: &[Fills] = &[
    words("name", "name"),
    figure("capacity_l", "capacity", "L"),
    figure("mark_ml", "mark", "mL"),
];

impl What {
    pub(super) fn fills(self) -> &'static [Fills] {
        match self {
            Self::Room => ROOM,
            Self::System => SYSTEM,
            Self::Reservoir => RESERVOIR,
            Self::Bench => BENCH,
            Self::Pump => PUMP,
            Self::Tubing => TUBING,
            Self::Jug => JUG,
        }
    }
}
