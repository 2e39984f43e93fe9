//! The pages of the screen, one for each question that people come with.

/// A page, reached by its digit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Page {
    /// The way from supply to far end.
    Network,
    /// The cheapest cables that pass.
    Sizes,
}

impl Page {
    /// Its digit and name.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Network => "1 Network",
            Self::Sizes => "4 Sizes",
        }
    }
}
