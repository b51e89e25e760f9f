//! Quantities as people write them: `1.5m`, `4ft11in`, `145MHz`, `8.2dB/100m`.
