//! Quantities with units: every way of writing them, and every refusal with its message.

use lineproof_core::quantity::*;
use proptest::prelude::*;

type Formatter = fn(f64) -> String;
type Reader = fn(&str) -> Result<Reading, QuantityError>;

/// Relative rounding of a unit conversion: a few units in the last place.
const ROUNDING: f64 = 1e-12;

/// Text, value in the reader's unit, half a unit of the last digit typed.
#[track_caller]
fn reads(read: Reader, rows: &[(&str, f64, f64)]) {
    for &(text, value, half_digit) in rows {
        let got = read(text).unwrap_or_else(|e| panic!("{text}: {e}"));
        let close = |a: f64, b: f64| (a - b).abs() <= ROUNDING * b.abs();
        assert!(
            close(got.value, value),
            "{text}: got {got:?}, wanted {value}"
        );
        assert!(
            close(got.half_digit, half_digit),
            "{text}: got {got:?}, wanted half digit {half_digit}"
        );
    }
}

#[track_caller]
fn refuses(read: Reader, rows: &[(&str, &str)]) {
    for &(text, message) in rows {
        let got = read(text).expect_err(text).to_string();
        assert_eq!(got, message, "for {text:?}");
    }
}

#[test]
fn lengths() {
    // The international foot is 0.3048 m, the inch 0.0254 m, both exact (NIST SP 811, B.6).
    reads(
        parse_length_m,
        &[
            ("1.5m", 1.5, 0.05),
            ("1.50 m", 1.5, 0.005),
            (" 80cm ", 0.80, 0.005),
            ("123.4mm", 0.1234, 0.00005),
            ("2km", 2000.0, 500.0),
            ("12in", 0.3048, 0.0127),
            ("5ft", 1.524, 0.1524),
            ("4ft11in", 1.4986, 0.0127),
            ("4ft 11in", 1.4986, 0.0127),
            ("4'11\"", 1.4986, 0.0127),
            ("4′11″", 1.4986, 0.0127),
            ("4ft11", 1.4986, 0.0127),
            ("4ft 11.5in", 1.5113, 0.00127),
            ("4ft 11 1/2in", 1.5113, 0.00635),
            ("3/4in", 0.01905, 0.003175),
            ("1,5m", 1.5, 0.05),
            ("0,125m", 0.125, 0.0005),
            ("1,2345m", 1.2345, 0.00005),
            ("1,234.5m", 1234.5, 0.05),
            ("1.234,5m", 1234.5, 0.05),
            ("1,234,567mm", 1234.567, 0.0005),
            ("1.5e1m", 15.0, 0.5),
            ("10 METRES", 10.0, 0.5),
        ],
    );
    refuses(
        parse_length_m,
        &[
            ("", "expected a length such as `1.5m`, found nothing"),
            ("long", "expected a length such as `1.5m`, found `long`"),
            ("1.5", "length `1.5` has no unit: write `1.5m` or `1.5ft`"),
            (
                "1,234m",
                "`1,234m` can be read as `1.234m` or `1234m`: write one of them",
            ),
            (
                "1.5MHz",
                "`MHz` in `1.5MHz` is not a unit of length: expected one of `m`, `cm`, `mm`, `km`, `ft`, `in`",
            ),
            (
                "-1m",
                "length `-1m` is out of range: expected a positive number",
            ),
            (
                "0m",
                "length `0m` is out of range: expected a positive number",
            ),
            (
                "1e999m",
                "length `1e999m` is out of range: expected a positive number",
            ),
            (
                "4ft13in",
                "length `4ft13in` is out of range: expected inches from 0 to below 12 after feet",
            ),
            ("4ft2m", "`m` after the length in `4ft2m` is not understood"),
            ("1.2.3m", "`1.2.3` in `1.2.3m` is not a number"),
            ("1m 2", "`2` after the length in `1m 2` is not understood"),
            ("1/0in", "`0` in `1/0in` is not a number"),
        ],
    );
}

#[test]
fn frequencies() {
    reads(
        parse_frequency_hz,
        &[
            ("145MHz", 145e6, 0.5e6),
            ("145 mhz", 145e6, 0.5e6),
            ("7.15MHz", 7.15e6, 5e3),
            ("300Hz", 300.0, 0.5),
            ("50kHz", 50e3, 500.0),
            ("1.5GHz", 1.5e9, 5e7),
        ],
    );
    refuses(
        parse_frequency_hz,
        &[
            (
                "145",
                "frequency `145` has no unit: write `145MHz` or `145kHz`",
            ),
            (
                "145THz",
                "`THz` in `145THz` is not a unit of frequency: expected one of `Hz`, `kHz`, `MHz`, `GHz`",
            ),
            (
                "0MHz",
                "frequency `0MHz` is out of range: expected a positive number",
            ),
        ],
    );
}

#[test]
fn resistances_and_reactances() {
    reads(
        parse_resistance_ohm,
        &[
            ("111ohm", 111.0, 0.5),
            ("111Ω", 111.0, 0.5),
            ("111 Ω", 111.0, 0.5),
            ("49.97 Ohms", 49.97, 0.005),
            ("2.2kohm", 2200.0, 50.0),
            ("0ohm", 0.0, 0.5),
            ("12mohm", 0.012, 0.0005),
        ],
    );
    reads(
        parse_reactance_ohm,
        &[("-48ohm", -48.0, 0.5), ("−48ohm", -48.0, 0.5)],
    );
    refuses(
        parse_resistance_ohm,
        &[
            (
                "111",
                "resistance `111` has no unit: write `111ohm` or `111kohm`",
            ),
            (
                "-1ohm",
                "resistance `-1ohm` is out of range: expected zero or a positive number",
            ),
            (
                "5MOHM",
                "`5MOHM` can be read as `5Mohm` or `5mohm`: write one of them",
            ),
        ],
    );
}

#[test]
fn small_quantities() {
    reads(
        parse_capacitance_f,
        &[
            ("98pF", 98e-12, 0.5e-12),
            ("0.1nF", 1e-10, 5e-11),
            ("1µF", 1e-6, 5e-7),
        ],
    );
    reads(
        parse_inductance_h,
        &[("250nH", 250e-9, 0.5e-9), ("0.25uH", 250e-9, 5e-9)],
    );
    reads(
        parse_delay_s,
        &[("5.2ns", 5.2e-9, 0.05e-9), ("76ps", 76e-12, 0.5e-12)],
    );
    refuses(
        parse_capacitance_f,
        &[("98", "capacitance `98` has no unit: write `98pF` or `98nF`")],
    );
    refuses(
        parse_inductance_h,
        &[(
            "2.5",
            "inductance `2.5` has no unit: write `2.5nH` or `2.5uH`",
        )],
    );
    refuses(
        parse_delay_s,
        &[("5", "delay `5` has no unit: write `5ns` or `5ps`")],
    );
}

#[test]
fn losses_powers_temperatures() {
    reads(
        parse_loss_db,
        &[
            ("0.3dB", 0.3, 0.05),
            ("1Np", 8.685889638065035, 4.3429448190325175),
        ],
    );
    // 47 dBm is 50.12 W: 10^((47 − 30)/10).
    reads(
        parse_power_w,
        &[
            ("50W", 50.0, 0.5),
            ("1.5kW", 1500.0, 50.0),
            (
                "47dBm",
                50.11872336272722,
                50.11872336272722 * 0.05 * std::f64::consts::LN_10,
            ),
        ],
    );
    // 70 °F is 21.11 °C: (70 − 32)·5/9 (NIST SP 811, B.8).
    reads(
        parse_temperature_c,
        &[
            ("21C", 21.0, 0.5),
            ("-5.5°C", -5.5, 0.05),
            ("70F", 190.0 / 9.0, 5.0 / 18.0),
            ("294K", 20.85, 0.5),
        ],
    );
    refuses(
        parse_loss_db,
        &[
            ("0.3", "loss `0.3` has no unit: write `0.3dB` or `0.3Np`"),
            (
                "-0.3dB",
                "loss `-0.3dB` is out of range: expected zero or a positive number",
            ),
        ],
    );
    refuses(
        parse_power_w,
        &[
            ("50", "power `50` has no unit: write `50W` or `50dBm`"),
            (
                "50mw",
                "`50mw` can be read as `50mW` or `50MW`: write one of them",
            ),
        ],
    );
    refuses(
        parse_temperature_c,
        &[
            ("21", "temperature `21` has no unit: write `21C` or `21F`"),
            (
                "-300C",
                "temperature `-300C` is out of range: expected -273.15C or more",
            ),
        ],
    );
}

#[test]
fn ratios() {
    reads(
        parse_ratio,
        &[
            ("0.66", 0.66, 0.005),
            ("66%", 0.66, 0.005),
            ("0,695", 0.695, 0.0005),
            ("1", 1.0, 0.5),
        ],
    );
    reads(
        parse_swr,
        &[
            ("9", 9.0, 0.5),
            ("9:1", 9.0, 0.5),
            ("1.5:1", 1.5, 0.05),
            ("1:1.5", 1.5, 0.05),
            ("1:1", 1.0, 0.5),
        ],
    );
    refuses(
        parse_ratio,
        &[
            (
                "66",
                "ratio `66` is out of range: expected a ratio above 0 and up to 1, or up to 100%",
            ),
            (
                "0.66m",
                "`m` in `0.66m` is not a unit of ratio: expected one of `%`",
            ),
        ],
    );
    refuses(
        parse_swr,
        &[
            ("0.9", "VSWR `0.9` is out of range: expected 1 or more"),
            (
                "9:2",
                "VSWR `9:2` is out of range: expected a ratio to 1 such as `9:1`",
            ),
            ("9ohm", "`ohm` after the VSWR in `9ohm` is not understood"),
        ],
    );
}

#[test]
fn attenuations() {
    let per_100m = |text: &str| parse_attenuation(text).map(|a| a.db_per_100m);
    reads(
        per_100m,
        &[
            ("8.2dB/100m", 8.2, 0.05),
            ("8.2 dB / 100 m", 8.2, 0.05),
            ("2.5dB/100ft", 2.5 / 0.3048, 0.05 / 0.3048),
            ("0.082dB/m", 8.2, 0.05),
            ("0.025dB/ft", 2.5 / 0.3048, 0.05 / 0.3048),
            ("82dB/km", 8.2, 0.05),
            ("8,2dB/100m", 8.2, 0.05),
            ("8.2dB/100m@100MHz", 8.2, 0.05),
        ],
    );
    refuses(
        per_100m,
        &[
            (
                "8.2",
                "attenuation `8.2` has no unit: write `8.2dB/100m` or `8.2dB/100ft`",
            ),
            (
                "8.2dB",
                "attenuation `8.2dB` has no unit: write `8.2dB/100m` or `8.2dB/100ft`",
            ),
            (
                "8.2dB/100",
                "attenuation `8.2dB/100` has no unit: write `8.2dB/100m` or `8.2dB/100ft`",
            ),
            (
                "8.2dB/0m",
                "length `8.2dB/0m` is out of range: expected a positive number",
            ),
            (
                "8.2dB/100m@100",
                "frequency `100` has no unit: write `100MHz` or `100kHz`",
            ),
            (
                "-8dB/100m",
                "attenuation `-8dB/100m` is out of range: expected zero or a positive number",
            ),
        ],
    );
    let marked = parse_attenuation("8.2dB/100m @ 0.1 GHz").unwrap();
    assert_eq!(marked.at_hz.unwrap().value, 1e8);
    assert_eq!(parse_attenuation("8.2dB/100m").unwrap().at_hz, None);
}

#[test]
fn a_typed_reading_carries_its_resolution() {
    // Rectangular distribution of half-width 0.5: u = 0.5/√3 (JCGM 100:2008, 4.3.7).
    let u = parse_resistance_ohm("111ohm").unwrap().uncertain().u;
    assert!((u - 0.288675).abs() < 1e-6, "got {u}");
}

#[test]
fn formatted_for_people() {
    let rows = [
        (format_frequency(61.5e6), "61.5 MHz"),
        (format_frequency(145.0e6), "145 MHz"),
        (format_frequency(145.0126e6), "145.013 MHz"),
        (format_frequency(999_999_999.9), "1 GHz"),
        (format_frequency(0.0), "0 Hz"),
        (format_length(1.5), "1.5 m"),
        (format_length(0.8), "80 cm"),
        (format_length(0.00312), "3.12 mm"),
        (format_length(23.456789), "23.46 m"),
        (format_resistance(49.97), "49.97 ohm"),
        (format_resistance(-1234.0), "-1.234 kohm"),
        (format_capacitance(98e-12), "98 pF"),
        (format_inductance(2.5e-7), "250 nH"),
        (format_delay(7.61e-9), "7.61 ns"),
        (format_power(50.0), "50 W"),
    ];
    for (got, wanted) in rows {
        assert_eq!(got, wanted);
    }
}

/// Round-trip tolerance of text with four significant digits.
const FOUR_DIGITS: f64 = 6e-4;

proptest! {
    #[test]
    fn arbitrary_text_is_read_or_refused_without_panic(text in ".{0,40}") {
        for read in [parse_length_m as Reader, parse_frequency_hz, parse_reactance_ohm, parse_ratio, parse_swr, parse_power_w] {
            if let Ok(reading) = read(&text) {
                prop_assert!(reading.value.is_finite() && reading.half_digit >= 0.0);
            }
        }
        let _ = parse_attenuation(&text);
    }

    #[test]
    fn text_made_of_the_right_letters_does_not_panic(text in "[-+0-9.,/:@'\" mftinHzdBΩk%e]{0,14}") {
        let _ = (parse_length_m(&text), parse_attenuation(&text), parse_swr(&text), parse_resistance_ohm(&text));
    }

    #[test]
    fn formatted_quantities_read_back(value in 1e-3f64..1e3, power in 0i32..4) {
        let pairs: [(Formatter, Reader, f64); 4] = [
            (format_frequency, parse_frequency_hz, value * 10f64.powi(3 * power)),
            (format_length, parse_length_m, value),
            (format_delay, parse_delay_s, value * 1e-9),
            (format_resistance, parse_resistance_ohm, value),
        ];
        for (format, read, value) in pairs {
            let text = format(value);
            let back = read(&text).unwrap().value;
            prop_assert!((back - value).abs() <= FOUR_DIGITS * value, "{} became {}", value, text);
        }
    }
}
