//! Fixed words of a finding, each spelled once: as a variant, in JSON, and for people.

/// An enum whose variants are words: closed, and cheap to copy.
macro_rules! words {
    (
        $(#[$of_enum:meta])*
        pub enum $name:ident { $($(#[$of_variant:meta])* $variant:ident = $word:tt),+ $(,)? }
    ) => {
        $(#[$of_enum])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
        #[cfg_attr(feature = "schema", derive(utoipa::ToSchema))]
        pub enum $name {
            $($(#[$of_variant])* #[cfg_attr(feature = "serde", serde(rename = $word))] $variant,)+
        }

        impl $name {
            /// The word.
            pub fn name(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)+
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.name())
            }
        }
    };
}

/// An enum of codes that other versions may have more of: a code that this one does not know is kept
/// as it is written.
macro_rules! codes {
    (
        $(#[$of_enum:meta])*
        pub enum $name:ident { $($(#[$of_variant:meta])* $variant:ident = $word:tt),+ $(,)? }
    ) => {
        $(#[$of_enum])*
        #[derive(Clone, Debug, PartialEq, Eq)]
        pub enum $name {
            $($(#[$of_variant])* $variant,)+
            /// One that has no variant here, as another version or another part of the program has it.
            Other(std::borrow::Cow<'static, str>),
        }

        impl $name {
            /// The code as it is written.
            pub fn as_str(&self) -> &str {
                match self {
                    $(Self::$variant => $word,)+
                    Self::Other(word) => word,
                }
            }
        }

        impl From<std::borrow::Cow<'static, str>> for $name {
            fn from(word: std::borrow::Cow<'static, str>) -> Self {
                match word.as_ref() {
                    $($word => Self::$variant,)+
                    _ => Self::Other(word),
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(self.as_str())
            }
        }

        #[cfg(feature = "serde")]
        impl serde::Serialize for $name {
            fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
                serializer.serialize_str(self.as_str())
            }
        }

        #[cfg(feature = "serde")]
        impl<'de> serde::Deserialize<'de> for $name {
            fn deserialize<D: serde::Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
                let word = <String as serde::Deserialize>::deserialize(deserializer)?;
                Ok(Self::from(std::borrow::Cow::Owned(word)))
            }
        }
    };
}

pub(super) use {codes, words};
