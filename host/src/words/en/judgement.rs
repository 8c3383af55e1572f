//! Judgements in sentences: what was found, and what to do about it.

mod phrases;

use rillmark_procedures::routine::judgement::{Judgement, Severity};
use rillmark_proto::reading::Flags;

use self::phrases::{counted, flag, three_digits, to_come, unstated};
use super::manners::CLEANING;
use super::verification::figures;

/// How heavy a judgement is, as the first word of its line.
pub fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Refusal => "refused",
    }
}

/// The sentence of a judgement.
pub fn sentence(judgement: &Judgement) -> String {
    use Judgement as J;
    match *judgement {
        J::PotentialNotSettled { drift_mv_per_min, to_come_mv, limit_mv, scatter_mv, waited_s } => {
            let to_come = to_come(to_come_mv, limit_mv, "mV");
            format!(
                "The potential has not settled after {waited_s:.0} s: it drifts by \
                 {drift_mv_per_min:+.2} mV/min and scatters by {scatter_mv:.2} mV. {to_come} Wait; if \
                 it does not come to rest, rinse the electrode and try again."
            )
        }
        J::ConductanceNotSettled {
            drift_percent_per_min,
            to_come_percent,
            limit_percent,
            scatter_percent,
            waited_s,
        } => {
            let to_come = to_come(to_come_percent, limit_percent, "%");
            format!(
                "The conductance has not settled after {waited_s:.0} s: it drifts by \
                 {drift_percent_per_min:+.2} % a minute and scatters by {scatter_percent:.2} %. \
                 {to_come} Free the cell of bubbles, let the temperatures even out and try again."
            )
        }
        J::TemperatureNotSettled { drift_k_per_min, to_come_k, limit_k } => format!(
            "The temperature has not come to rest: it drifts by {drift_k_per_min:+.2} K/min. {} Let \
             probe and standard come to the same temperature.",
            to_come(to_come_k, limit_k, "K")
        ),
        J::TooFewTemperatures { temperatures, least } => format!(
            "Only {} came so far, and {least} are needed to tell whether the thermometer has come to \
             rest. Wait a little longer.",
            counted(temperatures, "fresh temperature")
        ),
        J::TemperatureMissing {} => "There is no temperature, and the standard's value depends on \
             it. Check the thermometer and its leads."
            .into(),
        J::SignalMissing {} => {
            "The readings carry no value to calibrate. Check that the sensor is connected.".into()
        }
        J::ReadingFlagged { flags } => {
            let names: Vec<_> = Flags(flags).names().map(flag).collect();
            format!("The readings are flagged: {}. Mend that and try again.", names.join(", "))
        }
        J::TooFewReadings { readings, least } => format!(
            "Only {} came in a row, and a drift is told from at least {least}. Check cable and sensor.",
            counted(readings, "usable reading")
        ),
        J::StandardOutsideTable { point, temperature_c, min_c, max_c } => format!(
            "Standard {point} is at {temperature_c:.1} °C, but its value is known only from \
             {min_c} to {max_c} °C. Bring it into that range."
        ),
        J::StandardExpired { point, days } => format!(
            "Standard {point} expired {} ago, and nothing shows how far its value has gone since. \
             Take a fresh bottle.",
            counted(days, "day")
        ),
        J::BufferNotAsLabelled { point, expected_ph, found_ph, limit_ph } => format!(
            "Standard {point} should read pH {expected_ph:.2}, but the calibration in force finds \
             pH {found_ph:.2}, more than {limit_ph} away. Is the right bottle in the beaker?"
        ),
        J::BufferFarFromNominal { point, expected_ph, found_ph, limit_ph } => format!(
            "Standard {point} should read pH {expected_ph:.2}, but a nominal electrode would find \
             pH {found_ph:.2}, more than {limit_ph} away. Is the right bottle in the beaker, and \
             is the electrode's cap off?"
        ),
        J::StandardNotAsLabelled { point, expected_us_cm, found_us_cm, limit_percent } => format!(
            "Standard {point} should read {expected_us_cm:.1} µS/cm, but the cell finds \
             {found_us_cm:.1} µS/cm, more than {limit_percent:.0} % away. Is the right bottle in \
             the beaker, and is the cell covered and free of bubbles?"
        ),
        J::TemperaturesDiffer { span_k, limit_k } => format!(
            "The standards' temperatures differ by {span_k:.1} K (over {limit_k:.0} K). Each point \
             is taken at its own temperature, but an electrode that does not cross at pH 7 shows."
        ),
        J::LabelUnchecked {} => {
            "There is neither a calibration in force nor a stated cell constant, \
             so a wrong bottle would go unnoticed. The maker's figure helps: \
             --nominal-cell-constant."
                .into()
        }
        J::StandardLongOpen { point, days, limit_days } => format!(
            "Standard {point} was opened {days} days ago, and an open bottle of its kind is used for \
             {limit_days} days. Open a fresh bottle; if yours keeps longer, say so with --opened-limit."
        ),
        J::AirLowersBuffer { point, days, up_to_ph, taken_ph } => format!(
            "Standard {point} has been open for {}, and air lowers an alkaline buffer by up to \
             {up_to_ph:.2} pH in that time: it is taken as {taken_ph:.2}.",
            counted(days, "day")
        ),
        J::AirMayLowerBuffer { point, limit_days, up_to_ph, taken_ph } => format!(
            "Nobody said when standard {point} was opened. Air lowers an alkaline buffer by up to \
             {up_to_ph:.2} pH in {}: it is taken as {taken_ph:.2}. Better say when: \
             opened=YYYY-MM-DD.",
            counted(limit_days, "day")
        ),
        J::WaterAddsToStandard { point, up_to_us_cm, taken_us_cm } => format!(
            "Water with carbon dioxide of the air adds up to {up_to_us_cm:.1} µS/cm to standard \
             {point}: it is taken as {taken_us_cm:.1} µS/cm at 25 °C."
        ),
        J::TapInStandard { point, least_percent, most_percent } => format!(
            "Standard {point} was made with tap water, which itself conducts {least_percent:.1} to \
             {most_percent:.0} % of it. Dissolve a fresh one in deionised water."
        ),
        J::TapInBuffer { point, up_to_ph } => format!(
            "Standard {point} was made with tap water, and hard water moves a buffer by up to \
             {up_to_ph} pH either way. Dissolve a fresh one in deionised water; if you go on, it \
             counts for little."
        ),
        J::SingleUseOpenedBefore { point, days } => format!(
            "Standard {point} is for a single use, and was opened {} ago (days are counted in UTC). \
             Open a fresh one.",
            counted(days, "day")
        ),
        J::OpenedInFuture { point, days } => format!(
            "Standard {point} is said to be opened {days} days from now. Check that date and this \
             computer's clock."
        ),
        J::LooksLikeOtherBuffer { point, expected_ph, found_ph, looks_like_ph } => format!(
            "This looks like pH {looks_like_ph:.2}, not like standard {point}, which should read pH \
             {expected_ph:.2}: pH {found_ph:.2} was found. A line through a wrong buffer puts every \
             later reading off. Look at the bottle; rinse, pour the right one, then retry."
        ),
        J::LooksLikeOtherStandard { point, expected_us_cm, found_us_cm, looks_like_us_cm } => {
            format!(
                "This looks like a standard of about {} µS/cm (at 25 °C), not like standard {point}, \
                 which should read {expected_us_cm:.1} µS/cm: {found_us_cm:.1} µS/cm was found. A \
                 wrong standard puts every later reading off by the same factor. Look at the bottle; \
                 rinse, pour the right one, then retry.",
                three_digits(looks_like_us_cm)
            )
        }
        J::MayBeOtherBuffer { point, expected_ph, found_ph, looks_like_ph } => format!(
            "Standard {point} should read pH {expected_ph:.2}, but the calibration in force finds pH \
             {found_ph:.2}, which would fit a buffer of pH {looks_like_ph:.2}. Look at the bottle; if \
             it is the right one, the electrode has changed: say why."
        ),
        J::SinglePoint { slope_percent, u_percent, assumed } => format!(
            "A single buffer tells the offset, not the slope: {slope_percent:.1} ± {u_percent:.1} % \
             (k = 1) {}, which makes a pH three units away uncertain by \
             {:.2}, and a buffer that is not what its label says goes unnoticed. Take two buffers \
             that bracket the water.",
            match assumed {
                0 => "is taken from before",
                _ => "is assumed, as of any electrode that was never calibrated",
            },
            3.0 * u_percent / slope_percent
        ),
        J::PhPointsContradict { chi_squared, limit } => format!(
            "The buffers contradict each other: chi-squared is {chi_squared:.1}, and more than \
             {limit:.1} comes about by chance once in a hundred times. One of them is not what its \
             label says, or was read too early. Take fresh buffers and try again."
        ),
        J::ConductivityPointsContradict { chi_squared, limit } => format!(
            "The standards contradict each other: chi-squared is {chi_squared:.1}, and more than \
             {limit:.1} comes about by chance once in a hundred times. One of them is not what its \
             label says, or a bubble sits in the cell. Rinse, take fresh standards and try again."
        ),
        J::RangesDisagree { largest_percent } => format!(
            "One cell constant does not fit the standards measured on different ranges, so each range \
             has a factor of its own, up to {largest_percent:.2} % from 1. Check the range \
             resistors."
        ),
        J::TooFewPoints { points, least } => format!(
            "Standards given: {points}; this calibration needs at least {least}. Take another one too."
        ),
        J::BuffersTooClose { span_ph, least_ph } => format!(
            "The buffers are only {span_ph:.2} pH apart; a slope needs at least {least_ph} pH. \
             Take two that lie on both sides of the water's pH."
        ),
        J::NotEquipped {} => {
            "Nobody has said yet what is fitted, and a calibration belongs to one \
             electrode, cell or thermometer. Name it with `rillmark equip`."
                .into()
        }
        J::ConductivityFirst {} => "The cell has no calibration yet. Conductivity is best done \
             first, while nothing of a buffer clings to the sensors; pH again and again."
            .into(),
        J::TooManyOverrides { most } => format!(
            "A record holds {most} overridden warnings and this attempt has more. Mend what they \
             say and start again."
        ),
        J::StandardOfOtherQuantity { point } => format!(
            "Standard {point} is of the other kind: pH is calibrated in buffers, conductivity in \
             conductivity standards."
        ),
        J::StandardTemperatureDiffers { point, temperature_c, first_c, limit_k } => format!(
            "Standard {point} is at {temperature_c:.1} °C, the first one was at {first_c:.1} °C: more \
             than {limit_k} K apart. The inside of the sensor follows more slowly than the \
             thermometer shows, and that error goes into the result. Let all bottles come to one \
             temperature, then retry. At two temperatures on purpose? Override, and say so."
        ),
        J::AlkalineNotLast { point, ph } => format!(
            "Standard {point} (pH {ph:.2}) is alkaline and not the last one. Open, it takes up carbon \
             dioxide and its pH falls: better take it last, or close it at once."
        ),
        J::TakenUnsettled { point } => format!(
            "Standard {point} was taken before it had settled. Suspect that first, and take the \
             standards again in peace."
        ),
        J::BuffersUnstated { which, closing, expanded_ph, .. } => format!(
            "Nothing is stated of how well {} known, so U = {expanded_ph:.2} pH (k = 2) or more is \
             taken. Say what label or certificate state: tolerance=0.02 or u=0.01.",
            unstated("buffer", which, closing)
        ),
        J::StandardsUnstated { which, closing, expanded_percent, .. } => format!(
            "Nothing is stated of how well {} known, so U = {expanded_percent:.1} % (k = 2) or more \
             is taken. Say what label or certificate state: tolerance=1% or u=0.5%.",
            unstated("standard", which, closing)
        ),
        J::DatedBeforeEarlier { days } => format!(
            "By this computer's clock the calibration in force is dated {} in the future, so one of the \
             two clocks is wrong. Set this computer's clock if it is the one and begin again; if the \
             other one was wrong, go on: nothing is learnt of the drift between the two.",
            counted(days as i64, "day")
        ),
        J::LongSinceEarlier { days, limit_days } => format!(
            "The calibration before is dated {days:.0} days ago, more than {limit_days:.0}: nothing is \
             learnt of the drift from a difference that old. Is this computer's clock right?"
        ),
        J::StoredLongerThanPassed { stored_days, days } => format!(
            "The sensor cannot have been stored for {} of the {} since the calibration before. \
             Count only the days since then, or see whether this computer's clock is right.",
            counted(stored_days, "day"),
            counted(days as i64, "day")
        ),
        J::StoredSinceNothing { stored_days } => format!(
            "There is no calibration of this sensor before, so no {} since then can have been spent \
             in storage. Leave --stored-days out.",
            counted(stored_days, "day")
        ),
        J::StoredDaysCounted { stored_days, days } => format!(
            "Of the {} since the calibration before, {} in storage: how the sensor drifts is reckoned \
             over the other {:.0}.",
            counted(days as i64, "day"),
            match stored_days {
                1 => "1 was".to_owned(),
                many => format!("{many} were"),
            },
            days - f64::from(stored_days)
        ),
        J::WaterByEye { point, expanded_percent } => format!(
            "The water of standard {point} was measured by eye: {expanded_percent:.0} % (k = 2) of it \
             and of every conductivity from now on. A cylinder makes it 1 %."
        ),
        J::PointsShareBottles { points, bottles } => format!(
            "{points} points were taken in {}: an error of a bottle is in all its points, and more \
             of them do not make it smaller.",
            counted(bottles, "bottle")
        ),
        J::SlopeOutOfBand { slope_percent, min_percent, max_percent } => format!(
            "The slope is {slope_percent:.1} % of Nernst, outside {min_percent:.0} to \
             {max_percent:.0} %. Take fresh buffers; if it stays so, clean or recondition the \
             electrode as its maker says. {CLEANING}"
        ),
        J::SlopeImpossible { slope_percent, min_percent, max_percent } => format!(
            "The slope is {slope_percent:.1} % of Nernst, and no working electrode is outside \
             {min_percent:.0} to {max_percent:.0} %. A buffer is not what its label says, or the \
             electrode is dead."
        ),
        J::SlopeReversed { slope_percent } => format!(
            "The slope is {slope_percent:.1} % of Nernst: the potential rises with pH. Were the \
             beakers swapped?"
        ),
        J::OffsetOutOfBand { offset_mv, limit_mv } => format!(
            "The offset is {offset_mv:+.1} mV at pH 7, beyond ±{limit_mv:.0} mV. Look for a \
             blocked or dried junction and stale filling solution."
        ),
        J::OffsetFarFromHistory { offset_mv, earlier_mv, limit_mv } => format!(
            "The offset is {offset_mv:+.1} mV at pH 7, but this electrode's was {earlier_mv:+.1} \
             mV: more than {limit_mv:.0} mV away. Was the electrode changed? Then name the new one \
             with `rillmark equip`."
        ),
        J::SlopeFarFromHistory { slope_percent, earlier_percent, limit_percent } => format!(
            "The slope is {slope_percent:.1} % of Nernst, but this electrode's was \
             {earlier_percent:.1} %: more than {limit_percent:.0} % away. Check buffers and \
             electrode."
        ),
        J::ResidualLarge { point, points: 3, residual_ph, limit_ph } => format!(
            "The three standards are not on one line: standard {point} lies {residual_ph:+.3} pH from \
             it, beyond ±{limit_ph} pH. Three cannot tell which of them is off. Repeat all in fresh \
             portions; a fourth buffer would tell."
        ),
        J::ResidualLarge { point, residual_ph, limit_ph, .. } => format!(
            "Standard {point} lies {residual_ph:+.3} pH from the line through all, beyond \
             ±{limit_ph} pH, and no other one farther. Repeat it in a fresh portion."
        ),
        J::TwoPointsOnly {} => "Two buffers make a line whatever they are: nothing is left over \
             that would show a bad one. A third buffer would."
            .into(),
        J::NoLine {} => "No line can be drawn through these points. Check that the standards \
             differ and the readings are real."
            .into(),
        J::CellConstantImpossible { cell_constant_per_cm, min_per_cm, max_per_cm } => format!(
            "The cell constant comes out as {cell_constant_per_cm:.4} /cm, and no cell is outside \
             {min_per_cm} to {max_per_cm} /cm. Check the standard and the wiring."
        ),
        J::CellConstantUnusual { cell_constant_per_cm, min_per_cm, max_per_cm } => format!(
            "The cell constant comes out as {cell_constant_per_cm:.4} /cm; cells are usually made \
             with {min_per_cm} to {max_per_cm} /cm. Check the standard and that the cell is covered."
        ),
        J::CellConstantFarFromHistory { cell_constant_per_cm, earlier_per_cm, limit_percent } => {
            format!(
                "The cell constant comes out as {cell_constant_per_cm:.4} /cm, but this cell's was \
                 {earlier_per_cm:.4} /cm: more than {limit_percent:.0} % away. Was the cell \
                 changed? Then name the new one with `rillmark equip`; else look for bubbles, or for \
                 deposits to be cleaned off. {CLEANING}"
            )
        }
        J::ConductivityResidualLarge { point, points: 2, residual_percent, limit_percent } => format!(
            "The two standards give two cell constants: standard {point} lies {residual_percent:+.2} % \
             from what the common one gives, beyond ±{limit_percent:.0} %. Two cannot tell which of \
             them is off. Repeat both in fresh portions; a third standard would tell."
        ),
        J::ConductivityResidualLarge { point, residual_percent, limit_percent, .. } => format!(
            "Standard {point} lies {residual_percent:+.2} % from what the common cell constant \
             gives, beyond ±{limit_percent:.0} %, and no other one farther. Repeat it in a fresh \
             portion."
        ),
        J::RangeFactorImpossible { factor, min, max } => format!(
            "The standards measured on different ranges disagree by a factor of {factor:.4}, and no \
             range's resistor is off by more than {min} to {max}. A conductance or a standard is in \
             another unit, or a wrong resistor is fitted."
        ),
        J::CellNotDry { conductance_us, limit_us } => format!(
            "In air the cell conducts {conductance_us:.2} µS, and an empty, dry one at most {limit_us} \
             µS. Dry it, and its connector; take it out of the water."
        ),
        J::ZeroNotSettled { drift_us_per_min, to_come_us, scatter_us, waited_s, .. } => format!(
            "After {waited_s:.0} s the conductance in air has not settled: it drifts by \
             {drift_us_per_min:+.3} µS a minute, up to {to_come_us:.3} µS are still to come, and it \
             scatters by {scatter_us:.3} µS. A film of water is drying: wait for it."
        ),
        J::ZeroMeasured { zero_us, u_us } => format!(
            "In air the cell conducts {zero_us:.4} ± {u_us:.4} µS (k = 1); that is taken off from now on."
        ),
        J::ZeroCarriedOver { zero_us, u_us } => format!(
            "What the cell conducts in air, {zero_us:.4} ± {u_us:.4} µS (k = 1), is taken over from the \
             calibration in force. --zero-in-air measures it anew."
        ),
        J::PhAsFoundWithinTolerance { largest_ph, tolerance_ph } => format!(
            "As found, every buffer read within {largest_ph:.3} pH (tolerance {tolerance_ph} pH): \
             nothing needs adjusting."
        ),
        J::PhAsFoundOutsideTolerance { largest_ph, tolerance_ph } => format!(
            "As found, a buffer read {largest_ph:.3} pH off (tolerance {tolerance_ph} pH). \
             Readings since the last check that held are in doubt by that much."
        ),
        J::ConductivityAsFoundWithinTolerance { largest_percent, tolerance_percent } => format!(
            "As found, every standard read within {largest_percent:.2} % (tolerance \
             {tolerance_percent} %): nothing needs adjusting."
        ),
        J::ConductivityAsFoundOutsideTolerance { largest_percent, tolerance_percent } => format!(
            "As found, a standard read {largest_percent:.2} % off (tolerance {tolerance_percent} \
             %). Readings since the last check that held are in doubt by that much."
        ),
        J::PhAsLeftOff { expected_ph, found_ph, limit_ph } => format!(
            "After the adjustment the last buffer reads pH {found_ph:.3} instead of \
             {expected_ph:.3}, more than {limit_ph} away. The electrode has not come to rest."
        ),
        J::ConductivityAsLeftOff { expected_us_cm, found_us_cm, limit_percent } => format!(
            "After the adjustment the last standard reads {found_us_cm:.1} µS/cm instead of \
             {expected_us_cm:.1} µS/cm, more than {limit_percent} % away. The cell has not come to rest."
        ),
        J::NoEarlierCalibration {} => "There is no calibration in force, so nothing can be said \
             about how it was found."
            .into(),
        J::WaterDilute { conductivity_us_cm, limit_us_cm, u_ph } => format!(
            "The water conducts {conductivity_us_cm:.1} µS/cm at 25 °C, below {limit_us_cm:.0} \
             µS/cm: the electrode's junction behaves otherwise than in the buffers, which makes pH \
             uncertain by {u_ph:.2} (k = 1). Give it time, and compare the stirred with the still water."
        ),
        J::WaterSalty { ionic_strength_mol_kg, limit_mol_kg, u_ph } => format!(
            "The water has an ionic strength of about {ionic_strength_mol_kg:.2} mol/kg, above \
             {limit_mol_kg} mol/kg: the electrode's junction behaves otherwise than in the buffers, \
             which makes pH uncertain by {u_ph:.2} (k = 1), and a pH on the buffers' scale is not one \
             on the total scale."
        ),
        J::StirAlike { difference_ph, expanded_ph, limit_ph } => format!(
            "Stirred, the pH is {difference_ph:+.3} ± {expanded_ph:.3} (k = 2) from the still \
             water's, within the {limit_ph} of a healthy junction."
        ),
        J::StirDiffers { difference_ph, expanded_ph, limit_ph, u_ph } => format!(
            "Stirred, the pH is {difference_ph:+.3} ± {expanded_ph:.3} (k = 2) from the still \
             water's; a healthy junction shows less than {limit_ph}. In this water pH is uncertain \
             by {u_ph:.3} (k = 1) because of the junction. Look for a clogged or dry junction, and \
             read dilute water at rest."
        ),
        J::StirUnclear { difference_ph, expanded_ph, limit_ph, u_ph } => format!(
            "Stirred, the pH is {difference_ph:+.3} ± {expanded_ph:.3} (k = 2) from the still \
             water's: whether that is within the {limit_ph} of a healthy junction cannot be told. \
             Until then pH is uncertain by {u_ph:.3} (k = 1) because of the junction. Repeat it, \
             with more patience."
        ),
        J::StirRestless { u_ph } => format!(
            "The pH did not come to rest, so the mean of a minute was taken, known to {u_ph:.3} pH \
             (k = 1). A restless pH is itself a sign of a clogged junction, or of a water with \
             little salt in it."
        ),
        J::NothingToVerify {} => "There is no calibration in force that could be verified. Make one \
             with `rillmark calibrate`."
            .into(),
        J::PhCheckFarOff { expected_ph, found_ph, limit_ph } => format!(
            "The check buffer should read pH {expected_ph:.2}, but the probe finds pH {found_ph:.2}, \
             more than {limit_ph} away. Is the right bottle in the beaker? If it is, override and say \
             so: the verification then fails."
        ),
        J::ConductivityCheckFarOff { expected_us_cm, found_us_cm, limit_percent } => format!(
            "The check standard should read {expected_us_cm:.1} µS/cm, but the probe finds \
             {found_us_cm:.1} µS/cm, more than {limit_percent:.0} % away. Is the right bottle in the \
             beaker, and is the cell covered and free of bubbles? If so, override and say so: the \
             verification then fails."
        ),
        J::CheckNotIndependent {} => "The check standard is the calibration's own bottle, or another \
             one of its lot. If that lot is wrong, calibration and check are wrong alike and agree. \
             Better take another lot or another solution."
            .into(),
        J::CheckLotUnknown {} => "The check standard may be the calibration's own bottle: it is of the \
             same solution, and a lot was not stated. Say lot= when you calibrate and when you verify, \
             or take another solution."
            .into(),
        J::CheckCannotPass { expanded, limit } => format!(
            "The standard alone is uncertain by {} (k = 2), and the limit is ±{}: whatever is read, \
             nobody could tell that it passes. Take a better standard or a wider limit.",
            figures(expanded),
            figures(limit)
        ),
        J::TemperatureAsFoundWithinTolerance { largest_k, tolerance_k } => format!(
            "As found, the thermometer read within {largest_k:.3} K of the reference (tolerance \
             {tolerance_k} K)."
        ),
        J::TemperatureAsFoundOutsideTolerance { largest_k, tolerance_k } => format!(
            "As found, the thermometer read up to {largest_k:.3} K off the reference (tolerance \
             {tolerance_k} K). Every pH and specific conductance since the last calibration \
             carries that error."
        ),
        J::TemperatureAsLeftOff { expected_c, found_c, limit_k } => format!(
            "After the correction the thermometer still reads {found_c:.3} °C where the reference \
             says {expected_c:.3} °C (limit {limit_k} K). Stir, wait until both are equally warm, \
             and try again."
        ),
        J::ThermometerOffsetLarge { offset_k, limit_k } => format!(
            "The thermometer needs a correction of {offset_k:+.3} K; more than {limit_k} K is seldom \
             the thermometer itself. Check that the reference stands beside it in stirred water, \
             that leads and connector are dry, and that the kind of thermometer is the one stated."
        ),
        J::ReferenceOverdue { point, days } => format!(
            "The reference of point {point} was due for its own calibration {} ago. Take one whose \
             certificate holds, or check this one in an ice bath first.",
            counted(days, "day")
        ),
        J::ReferenceCoarse { point, u_k, limit_k } => format!(
            "The reference of point {point} is uncertain by {u_k} K (k = 1); a thermometer at its \
             maker's word by {limit_k} K. This corrects a gross error and makes nothing better."
        ),
        J::ThermometerOnePoint {} => "One point corrects the thermometer's offset there. How it reads \
             at other temperatures stays at its maker's word; a second point, 10 K or more away, tells."
            .into(),
        J::ThermometerPointsClose { span_k, least_k } => format!(
            "The points are {span_k:.1} K apart; less than {least_k} K says next to nothing about how \
             the thermometer reads farther away. Take them at both ends of what your water has."
        ),
        J::ThermometerOfOtherKind { resistance_ohm } => format!(
            "The thermometer has {resistance_ohm:.1} Ω, and one of the stated kind has that at no \
             temperature of water. Say what is fitted with --thermometer, and check its leads."
        ),
        J::ReferenceFarFromReading { point, reference_c, found_c, limit_k } => format!(
            "Point {point}: the reference is said to read {reference_c} °C, but the probe reads \
             {found_c:.2} °C, more than {limit_k} K away. Are both in the same water, is the number in \
             °C, and is the kind of thermometer the one stated?"
        ),
        J::ReferenceReadLate { waited_s, limit_s } => format!(
            "The answer came {waited_s:.0} s after the reading had settled, and a bath drifts. The \
             reading is taken again; answer within {limit_s:.0} s this time."
        ),
        J::ReferenceImpossible { reference_c, min_c, max_c } => format!(
            "{reference_c} °C is no bath to calibrate in ({min_c} to {max_c} °C). Answer again, in °C."
        ),
        J::ThermometerResidualLarge { point, residual_k, limit_k } => format!(
            "Point {point} lies {residual_k:+.3} K from the correction of all points, beyond \
             ±{limit_k:.3} K. Was the reference read rightly, and was the water stirred? Repeat it."
        ),
    }
}

#[cfg(test)]
mod tests;
