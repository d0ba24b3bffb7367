//! Where the page of a thing lies that an entry is about. Only addresses stand here, so the logbook
//! still knows no other room; a story holds them against the table of routes.

/// The kinds of things that have a page, each with its address.
pub const PLACES: &[(&str, &str)] = &[
    ("person", "/crew/{id}"),
    ("site", "/site"),
    ("room", "/systems"),
    ("system", "/systems/{id}"),
    ("bench", "/benches/{id}/bucket-tests"),
    ("jug", "/jugs"),
    ("kit", "/kit"),
    ("water", "/water/{id}"),
    ("delivery", "/stock/deliveries/{id}"),
    ("planting", "/turnovers/{id}"),
    ("product", "/stock/products/{id}"),
    ("store", "/stock/stores"),
    ("trouble", "/troubles/{id}"),
    ("lot", "/stock/lots/{id}"),
    ("clean-out", "/clean-outs/{id}"),
    ("method", "/methods"),
    ("plan", "/plan/posted/{id}"),
];

/// The page of what an entry is about, from 'person/3' to '/crew/3'.
pub fn place_of(about: &str) -> Option<String> {
    let (kind, id) = about.split_once('/')?;
    let id: i64 = id.parse().ok()?;
    let (_, place) = PLACES.iter().find(|(of, _)| *of == kind)?;
    Some(place.replace("{id}", &id.to_string()))
}

#[cfg(test)]
mod tests {
    use super::place_of;

    #[test]
    fn what_has_a_page_leads_to_it_and_what_has_none_leads_nowhere() {
        assert_eq!(place_of("person/3").as_deref(), Some("/crew/3"));
        assert_eq!(place_of("site/1").as_deref(), Some("/site"));
        for nowhere in ["", "person", "person/x", "weather/3"] {
            assert_eq!(place_of(nowhere), None);
        }
    }
}
