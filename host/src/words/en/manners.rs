//! Good manners at the bench in sentences, each told at its moment.

use rillmark_procedures::routine::limits;
use rillmark_procedures::routine::manners::Manner;

/// Behind every advice to clean something.
pub const CLEANING: &str = "A cleaner can be a strong acid or alkali: eye protection, gloves, and its \
    safety data sheet and your local rules first.";

/// What is told.
///
/// Borax: Repr. 1B, H360FD after Regulation (EC) 1272/2008 (seen in a supplier's safety data sheet).
/// Oxalates harmful, calcium hydroxide caustic: memory. The rest is common practice, no source.
pub fn sentence(manner: Manner) -> String {
    let text = match manner {
        Manner::OneTemperature => {
            let limit_k = limits::TEMPERATURE_SPAN_K.value;
            return format!(
                "Before you begin: are bottles, probe and the water to be measured within \
                 {limit_k} K of each other? Let them stand together until they are."
            );
        }
        Manner::SafetySheet => {
            "Each bottle's safety data sheet and your local rules go before anything said here."
        }
        Manner::LowestFirst => {
            "Take the lowest standard first: what is carried over then matters least."
        }
        Manner::RinseElectrode => {
            "Between beakers: rinse with deionised water (clean tap water if there is none), then \
             with a little of the next buffer. Shake or dab off the last drop, never wipe: rubbed \
             glass is charged and drifts."
        }
        Manner::RinseCell => {
            "Rinse the cell with deionised water (clean tap water if there is none), then with a \
             little of the standard. Cover it whole, and tap it until no bubble is left inside."
        }
        Manner::BesideReference => {
            "Hold probe and reference thermometer side by side in stirred water, away from walls and \
             sun: the probe as deep as it measures, the reference to the line or depth that its \
             certificate names (else at least 10 cm). A vacuum flask or a bucket keeps its temperature \
             longer than a beaker. Wait until both have come to rest."
        }
        Manner::DryCell => {
            "What connector and cable conduct is taken off every reading: that matters below some 100 \
             µS/cm. Rinse the cell with deionised water, shake it out and let it dry in air, also \
             between its electrodes (no wiping, no heat). Then let it hang free in air, on the cable \
             that it will be used with."
        }
        Manner::PoorReference => {
            "A clinical thermometer holds its highest reading and a kitchen thermometer is within 1 K \
             at best: both are poor references. Take one with a certificate, or an ice bath."
        }
        Manner::IceBath => {
            "An ice bath: crush ice (best of deionised water) and fill a vacuum flask with it; pour in \
             cold water until the gaps are full, no more. Wait 10 minutes, pack the ice closely around \
             the probe down to the bottom, and stir: water without ice below it is up to 4 °C warm."
        }
        Manner::NeverBack => "Never pour what was used back into its bottle.",
        Manner::OpenLate => {
            "Open this bottle only now and close it at once: an alkaline buffer takes up carbon \
             dioxide from the air, and its pH falls."
        }
        Manner::Borax => {
            "Caution: borax is classified as toxic to reproduction in the European Union (category \
             1B). Wear gloves and eye protection; the bottle's safety data sheet says what holds for \
             this solution."
        }
        Manner::MaybeBorate => {
            "Caution: some buffers of this pH contain borate, classified as toxic to reproduction in \
             the European Union (category 1B). Look at the label; wear gloves and eye protection."
        }
        Manner::Oxalate => {
            "Caution: this buffer is an oxalate, harmful when swallowed or on the skin. Wear gloves."
        }
        Manner::Caustic => {
            "Caution: this solution is strongly acid or alkaline. Wear eye protection and gloves."
        }
        Manner::StoreElectrode => {
            "Not measuring at once? Rinse the electrode and keep its glass wet in the storage solution \
             that its maker names, never in deionised water: that leaches glass and junction."
        }
        Manner::StoreCell => {
            "When you are done, rinse the cell and store it as its maker says. An electrode beside it \
             stays wet, and never in deionised water."
        }
    };
    text.to_owned()
}
