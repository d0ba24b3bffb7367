//! How the values of science lie in columns and in frozen cards: whole numbers and fixed words, read
//! back through the same door as typed ones, so a row that breaks a limit cannot become a value.

use crate::science::agents::AgentKind;
use crate::science::quantity::Known;
use crate::science::stored::{
    ChangesPerDay, CubicMetres, FittingLosses, Grams, Hundredths, Micrometres, MillilitreChange,
    Millilitres, MillilitresPerMinute, Millimetres, Milliseconds, Minutes, OverflowCount, Permille,
    TenthsCelsius,
};
use crate::science::strength::{Basis, Strength};
use crate::science::units::Units;

crate::stored_as_code!(Units, Basis, Known, AgentKind);

macro_rules! code_in_json {
    ($($name:ty),+) => {$(
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> { to.serialize_str(self.code()) }
        }
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let code = String::deserialize(from)?;
                Self::from_code(&code).ok_or_else(|| serde::de::Error::custom(format!("'{code}' is not a {}", stringify!($name))))
            }
        }
    )+};
}

code_in_json!(Units, Basis, Known, AgentKind);

macro_rules! stored_as_whole {
    ($($name:ty),+ $(,)?) => {$(
        impl sqlx::Type<sqlx::Sqlite> for $name {
            fn type_info() -> sqlx::sqlite::SqliteTypeInfo { <i64 as sqlx::Type<sqlx::Sqlite>>::type_info() }
            fn compatible(ty: &sqlx::sqlite::SqliteTypeInfo) -> bool { <i64 as sqlx::Type<sqlx::Sqlite>>::compatible(ty) }
        }
        impl sqlx::Encode<'_, sqlx::Sqlite> for $name {
            fn encode_by_ref(&self, buf: &mut sqlx::sqlite::SqliteArgumentsBuffer) -> Result<sqlx::encode::IsNull, sqlx::error::BoxDynError> {
                <i64 as sqlx::Encode<'_, sqlx::Sqlite>>::encode(self.get(), buf)
            }
        }
        impl<'r> sqlx::Decode<'r, sqlx::Sqlite> for $name {
            fn decode(value: sqlx::sqlite::SqliteValueRef<'r>) -> Result<Self, sqlx::error::BoxDynError> {
                Ok(Self::new(<i64 as sqlx::Decode<'r, sqlx::Sqlite>>::decode(value)?).map_err(|error| error.to_string())?)
            }
        }
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> { to.serialize_i64(self.get()) }
        }
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                Self::new(i64::deserialize(from)?).map_err(serde::de::Error::custom)
            }
        }
    )+};
}

stored_as_whole!(
    Millilitres,
    MillilitreChange,
    Millimetres,
    Grams,
    Minutes,
    TenthsCelsius,
    Micrometres,
    CubicMetres,
    MillilitresPerMinute,
    Permille,
    ChangesPerDay,
    Milliseconds,
    FittingLosses,
    OverflowCount,
    Hundredths,
);

/// A strength lies in two columns or two JSON members, its value and its basis.
impl serde::Serialize for Strength {
    fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        (self.value(), self.basis()).serialize(to)
    }
}

impl<'de> serde::Deserialize<'de> for Strength {
    fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let (value, basis) = <(f64, Basis)>::deserialize(from)?;
        Self::new(value, basis).map_err(serde::de::Error::custom)
    }
}
