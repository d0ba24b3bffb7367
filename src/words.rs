//! Two small makers of types: ids that cannot be mixed up, and enums that are stored and shown by a fixed word.

/// Makes an id type for a table, so that a bench cannot be asked for by a pump's number.
#[macro_export]
macro_rules! ids {
    ($($(#[$doc:meta])* $name:ident;)+) => {$(
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize, sqlx::Type)]
        #[sqlx(transparent)]
        #[serde(transparent)]
        pub struct $name(i64);

        impl $name {
            pub const fn from_row(id: i64) -> Self { Self(id) }
            pub fn get(self) -> i64 { self.0 }
        }

        impl From<$name> for i64 {
            fn from(id: $name) -> Self { id.0 }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { self.0.fmt(f) }
        }

        impl std::str::FromStr for $name {
            type Err = std::num::ParseIntError;
            fn from_str(text: &str) -> Result<Self, Self::Err> { text.parse().map(Self) }
        }
    )+};
}

/// Implements storing and reading as text for a type with `code() -> &'static str` and
/// `from_code(&str) -> Option<Self>`: a row with another word cannot become a value.
#[macro_export]
macro_rules! stored_as_code {
    ($($name:ty),+ $(,)?) => {$(
        impl sqlx::Type<sqlx::Sqlite> for $name {
            fn type_info() -> sqlx::sqlite::SqliteTypeInfo { <String as sqlx::Type<sqlx::Sqlite>>::type_info() }
        }
        impl sqlx::Encode<'_, sqlx::Sqlite> for $name {
            fn encode_by_ref(&self, buf: &mut sqlx::sqlite::SqliteArgumentsBuffer) -> Result<sqlx::encode::IsNull, sqlx::error::BoxDynError> {
                <&str as sqlx::Encode<'_, sqlx::Sqlite>>::encode(self.code(), buf)
            }
        }
        impl<'r> sqlx::Decode<'r, sqlx::Sqlite> for $name {
            fn decode(value: sqlx::sqlite::SqliteValueRef<'r>) -> Result<Self, sqlx::error::BoxDynError> {
                let code = <&str as sqlx::Decode<'r, sqlx::Sqlite>>::decode(value)?;
                <$name>::from_code(code).ok_or_else(|| format!("'{code}' is not a {}", stringify!($name)).into())
            }
        }
    )+};
}

/// Makes an enum whose variants have one word each: the word in the database, in forms and on pages.
#[macro_export]
macro_rules! words {
    ($(#[$doc:meta])* pub enum $name:ident { $($(#[$vdoc:meta])* $variant:ident = $word:literal,)+ }) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name { $($(#[$vdoc])* $variant,)+ }

        impl $name {
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            pub fn code(self) -> &'static str {
                match self { $(Self::$variant => $word,)+ }
            }

            pub fn from_code(code: &str) -> Option<Self> {
                match code { $($word => Some(Self::$variant),)+ _ => None }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result { f.write_str(self.code()) }
        }

        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> { to.serialize_str(self.code()) }
        }

        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let code = <std::borrow::Cow<'de, str>>::deserialize(from)?;
                Self::from_code(&code).ok_or_else(|| serde::de::Error::custom(format!("'{code}' is not a {}", stringify!($name))))
            }
        }

        $crate::stored_as_code!($name);
    };
}
