//! Compiles `ui/app.slint` when the `app` feature is on; does nothing otherwise.

fn main() {
    #[cfg(feature = "app")]
    {
        let for_tests = std::env::var("PROFILE").as_deref() == Ok("debug");
        let config = slint_build::CompilerConfiguration::new().with_style("fluent".into()).with_debug_info(for_tests);
        slint_build::compile_with_config("ui/app.slint", config).expect("ui/app.slint compiles");
    }
}
