package fluid

import "slices"

// Material of tubes and bodies.
type Material struct {
	Name string
	// Young's modulus in Pa and linear thermal expansion in 1/K, each with
	// its source.
	Young, Expansion Parameter
	// Poisson's ratio, taken as known.
	Poisson float64
}

const sourceMetals = "handbooks, from memory"

var materials = []Material{
	metal("steel", 207e9, 5e9, 11.7e-6, 0.5e-6, 0.30),
	metal("stainless steel", 195e9, 8e9, 16.5e-6, 1e-6, 0.30),
	metal("copper", 120e9, 8e9, 16.8e-6, 0.5e-6, 0.34),
	metal("aluminium", 70e9, 3e9, 23e-6, 1e-6, 0.33),
	metal("brass", 105e9, 8e9, 19e-6, 1e-6, 0.34),
	metal("cast iron", 110e9, 20e9, 10.5e-6, 1e-6, 0.26),
}

func metal(name string, e, uE, a, uA, nu float64) Material {
	return Material{
		Name:  name,
		Young: Parameter{"Young's modulus of " + name, e, uE, sourceMetals}, Poisson: nu,
		Expansion: Parameter{"linear expansion of " + name, a, uA, sourceMetals},
	}
}

// Materials are the names of all, in order.
func Materials() []string {
	var names []string
	for _, m := range materials {
		names = append(names, m.Name)
	}
	return names
}

// LookupMaterial finds a material by its name.
func LookupMaterial(name string) (Material, bool) {
	i := slices.IndexFunc(materials, func(m Material) bool { return m.Name == name })
	if i < 0 {
		return Material{}, false
	}
	return materials[i], true
}
