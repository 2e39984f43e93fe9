#[path = "../benches/speed/sites.rs"]
mod sites;
fn main() {
    let a: Vec<String> = std::env::args().collect();
    print!(
        "{}",
        sites::text(a[1].parse().unwrap(), a[2].parse().unwrap())
    );
}
