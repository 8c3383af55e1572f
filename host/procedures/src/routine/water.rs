//! What is to be said about a water before its pH is believed.

use super::judgement::Judgement;
use rillmark_metrology::reference::ionic_strength;
use rillmark_metrology::reference::ionic_strength::{
    Class, DILUTE_BELOW_US_CM, SALTY_ABOVE_MOL_KG, residual_junction,
};
use rillmark_proto::reference::OutOfRange;
use rillmark_proto::units::MicrosiemensPerCm;

/// Judges a water by its conductivity at 25 °C; nothing is said about an ordinary one.
///
/// # Errors
/// [`OutOfRange`] for a conductivity that no water has.
pub fn judge_water(
    specific_conductance: MicrosiemensPerCm,
) -> Result<Option<Judgement>, OutOfRange> {
    let class = ionic_strength::class(specific_conductance)?;
    let u_ph = residual_junction(Some(specific_conductance)).value;
    Ok(match class {
        Class::Ordinary => None,
        Class::Dilute => Some(Judgement::WaterDilute {
            conductivity_us_cm: specific_conductance.get(),
            limit_us_cm: DILUTE_BELOW_US_CM,
            u_ph,
        }),
        Class::Salty => Some(Judgement::WaterSalty {
            ionic_strength_mol_kg: ionic_strength::estimate(specific_conductance)?.value,
            limit_mol_kg: SALTY_ABOVE_MOL_KG,
            u_ph,
        }),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_waters_far_from_the_buffers_are_spoken_of() {
        let code = |us_cm| {
            judge_water(MicrosiemensPerCm::new(us_cm)).map(|said| said.map(|judged| judged.code()))
        };
        assert_eq!(code(20.0), Ok(Some("water-dilute")));
        assert_eq!(code(100.0), Ok(None));
        assert_eq!(code(20_000.0), Ok(None));
        assert_eq!(code(50_000.0), Ok(Some("water-salty")));
        assert!(code(-1.0).is_err());
    }

    #[test]
    fn a_salty_water_is_told_its_ionic_strength() {
        let said = judge_water(MicrosiemensPerCm::new(40_000.0)).unwrap().unwrap();
        let [(name, found), (_, limit), (_, u_ph)] = said.numbers()[..] else { panic!() };
        assert_eq!((name, limit), ("ionic_strength_mol_kg", 0.3));
        assert!(libm::fabs(found - 0.6) < 1e-12 && u_ph == 0.03 * libm::sqrt(2.0025));
    }
}
