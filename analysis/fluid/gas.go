package fluid

// adiabaticAir is c_p/c_v of dry air at 20 °C and one atmosphere: Lemmon et
// al., J. Phys. Chem. Ref. Data 29 (2000) 331, 1.4020, as the usual 1.4.
const adiabaticAir = 1.4

// freeAir is the volume at a pressure (Pa absolute), slowly compressed, of
// free air, not dissolved, that at one atmosphere is a share of the whole's
// volume: x·p0/p of it.
func freeAir(share, pressureAbs float64) float64 { return share * Atmosphere / pressureAbs }
