//! What a person answered to the questions of `tables/questions.toml`.

/// The `answers` of a thing, or of the whole site: yes or no by the code of the question.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Answers(pub Vec<(&'static str, bool)>);

impl Answers {
    /// The answer to a question; `None` where nobody gave one.
    pub fn get(&self, code: &str) -> Option<bool> {
        let found = self.0.iter().find(|(known, _)| *known == code);
        found.map(|(_, yes)| *yes)
    }
}
