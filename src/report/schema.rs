//! The schema of the site file, from the program's own list of keys.

use serde_json::{Map, Value, json};

use crate::site::fields::{self, Field, Holds, Inner, TOP, inner};
use crate::units::{draw_pattern, written};

/// What a name of a thing matches.
const NAME: &str = r"^(?=.*\S)[\p{L}\p{M}\p{N} _-]+$";

/// The JSON Schema, draft 2020-12, of a site file: every key with its meaning, its units and the
/// words that are allowed. What it refuses the program refuses as well; references, sums and
/// limits of numbers are the program's alone.
///
/// # Errors
/// None that is known: a tree of texts prints.
pub fn schema() -> Result<String, serde_json::Error> {
    let mut shared = Map::new();
    let mut all = table("", TOP, &mut shared);
    all["$schema"] = json!("https://json-schema.org/draft/2020-12/schema");
    all["title"] = json!("farend site file, format 1");
    all["properties"]["format"]["const"] = json!(1);
    all["$defs"] = Value::Object(shared);
    serde_json::to_string_pretty(&all).map(|text| text + "\n")
}

/// A table and all below it; what several keys share goes into `shared` by its name.
fn table(path: &str, all: &'static [Field], shared: &mut Map<String, Value>) -> Value {
    let mut properties = Map::new();
    for field in all {
        let mut value = match inner(path, field.key) {
            Some(below) => tables(&joined(path, field.key), below, shared),
            None => one(field.holds, shared),
        };
        let units = value.get("description").and_then(Value::as_str);
        let help = units.map_or(field.help.to_owned(), |u| format!("{}; {u}", field.help));
        if !field.also.is_empty() {
            value = json!({ "anyOf": [value, { "enum": field.also }] });
        }
        value["description"] = json!(help);
        properties.insert(field.key.to_owned(), value);
    }
    let mut value = json!({
        "type": "object",
        "properties": properties,
        "additionalProperties": false,
    });
    let needed = all.iter().filter(|field| field.needed.is_some());
    let needed: Vec<&str> = needed.map(|field| field.key).collect();
    if !needed.is_empty() {
        value["required"] = json!(needed);
    }
    let groups = fields::groups(path);
    if !groups.is_empty() {
        let each = groups.iter().map(|keys| json!({ "required": keys }));
        value["anyOf"] = each.collect();
    }
    value
}

fn joined(path: &str, key: &str) -> String {
    if path.is_empty() {
        key.to_owned()
    } else {
        format!("{path}.{key}")
    }
}

/// What stands below a key that holds a table.
fn tables(path: &str, below: Inner, shared: &mut Map<String, Value>) -> Value {
    let by_name = |names: Value, each: Value| json!({ "type": "object", "propertyNames": names, "additionalProperties": each });
    let name = || json!({ "pattern": NAME });
    let text = || json!({ "minLength": 1 });
    match below {
        Inner::One(fields) => table(path, fields, shared),
        Inner::Named(fields) => by_name(name(), table(path, fields, shared)),
        Inner::Titled(fields) => by_name(text(), table(path, fields, shared)),
        Inner::Worded(words, fields) => {
            by_name(json!({ "enum": words }), table(path, fields, shared))
        }
        Inner::List(fields) => {
            json!({ "type": "array", "items": table(path, fields, shared) })
        }
        Inner::Draws => by_name(name(), one(Holds::Draw, shared)),
        Inner::States => {
            let relays = json!({ "type": "object", "additionalProperties": { "type": "string" } });
            by_name(text(), json!({ "anyOf": [{ "type": "string" }, relays] }))
        }
        Inner::Values => json!({ "type": "object" }),
    }
}

/// A value of a key.
fn one(holds: Holds, shared: &mut Map<String, Value>) -> Value {
    let text = || json!({ "type": "string" });
    let several = |one: Value| json!({ "anyOf": [one, { "type": "array", "items": one }] });
    match holds {
        Holds::Quantity(us, si) => quantity(us, si, shared),
        Holds::Draw => {
            let draw = json!({
                "type": "string",
                "pattern": draw_pattern(),
                "examples": ["350 mA", "6 W", "24 ohm", "40 VA", "0.5 A at 12 V", "off"],
            });
            shared.insert("draw".to_owned(), draw);
            json!({ "$ref": "#/$defs/draw" })
        }
        Holds::Text | Holds::Cable | Holds::Reference => text(),
        Holds::Flag => json!({ "type": "boolean" }),
        Holds::FlagOrReference => json!({ "type": ["boolean", "string"] }),
        Holds::Count => json!({ "type": "integer", "minimum": 0 }),
        Holds::Number => json!({ "type": "number" }),
        Holds::Choice(words) => json!({ "enum": words }),
        Holds::Choices(words) => several(json!({ "enum": words })),
        Holds::Cables | Holds::References => several(text()),
        Holds::Pair => json!({
            "type": "array",
            "prefixItems": [quantity("V", "V", shared), quantity("A", "A", shared)],
            "minItems": 2,
            "maxItems": 2,
        }),
        Holds::Window => json!({
            "type": "array",
            "items": quantity("V", "V", shared),
            "minItems": 2,
            "maxItems": 2,
        }),
        Holds::Table => json!({ "type": "object" }),
    }
}

/// A number with its unit, as one shared pattern for each quantity.
fn quantity(us: &'static str, si: &'static str, shared: &mut Map<String, Value>) -> Value {
    let Some(written) = written(us) else {
        return json!({ "type": "string" });
    };
    let pattern = json!({ "type": "string", "pattern": written.pattern });
    let id = written.what.replace(' ', "-");
    shared.insert(id.clone(), pattern);
    let mut examples = vec![format!("1 {us}")];
    if si != us {
        examples.push(format!("1 {si}"));
    }
    json!({
        "$ref": format!("#/$defs/{}", id),
        "description": format!("{} in {}", written.what, written.units.join(", ")),
        "examples": examples,
    })
}
