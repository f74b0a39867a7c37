//! What figures of several makes rest on: each sentence once, with the makes that it is of.

/// Each sentence once, in the order in which they come, with the makes before it; a make without one is left out.
pub(crate) fn grouped<'a>(of_makes: impl IntoIterator<Item = (&'a str, &'a str)>) -> Vec<String> {
    let mut said: Vec<(&str, Vec<&str>)> = Vec::new();
    let of_makes = of_makes.into_iter();
    for (make, why) in of_makes.filter(|(_, why)| !why.is_empty()) {
        match said.iter_mut().find(|(same, _)| *same == why) {
            Some((_, makes)) => {
                if !makes.contains(&make) {
                    makes.push(make);
                }
            }
            None => said.push((why, vec![make])),
        }
    }
    let told = said.into_iter();
    told.map(|(why, makes)| format!("{}: {}", makes.join(", "), lower_first(why)))
        .collect()
}

fn lower_first(sentence: &str) -> String {
    let mut letters = sentence.chars();
    let first = letters.next().into_iter().flat_map(char::to_lowercase);
    first.chain(letters).collect()
}
