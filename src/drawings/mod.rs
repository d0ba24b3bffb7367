//! Drawings from plain data to SVG: the tide line, the water loop, the measures of a bench.
//! They know no room and no database.
