package netlist

import (
	"slices"
	"strings"
)

// The edits match the unit on paper to the unit in front of the technician.
// Each either succeeds and leaves a valid unit, or returns a named error and
// leaves the unit as it was.

// try applies f to a copy and takes the copy over if it validates.
func (u *Unit) try(f func(v *Unit) error) error {
	v := u.Clone()
	if err := f(v); err != nil {
		return err
	}
	if err := v.Validate(); err != nil {
		return err
	}
	*u = *v
	return nil
}

// AddDevice adds a device; its name must be new.
func (u *Unit) AddDevice(d Device) error {
	return u.try(func(v *Unit) error { v.Devices = append(v.Devices, d); return nil })
}

// DeleteDevice removes a device and caps the conductors that ended on it;
// conductors capped at both ends by this go too.
func (u *Unit) DeleteDevice(id string) error {
	return u.try(func(v *Unit) error {
		if v.Device(id) == nil {
			return fail(ErrUnknown, "device "+id, "not in this unit")
		}
		v.Devices = slices.DeleteFunc(v.Devices, func(d Device) bool { return d.ID == id })
		for i := range v.Conductors {
			c := &v.Conductors[i]
			for _, end := range []*string{&c.From, &c.To} {
				if strings.HasPrefix(*end, id+".") {
					*end = Capped
				}
			}
		}
		was := map[string]bool{}
		for _, c := range u.Conductors {
			was[c.ID] = c.From == Capped && c.To == Capped
		}
		v.Conductors = slices.DeleteFunc(v.Conductors, func(c Conductor) bool {
			return c.From == Capped && c.To == Capped && !was[c.ID]
		})
		return nil
	})
}

// RenameDevice renames a device and the ends that name it.
func (u *Unit) RenameDevice(old, new string) error {
	return u.try(func(v *Unit) error {
		d := v.Device(old)
		if d == nil {
			return fail(ErrUnknown, "device "+old, "not in this unit")
		}
		if old != new && v.Device(new) != nil {
			return fail(ErrDuplicate, "device "+new, "already in this unit")
		}
		d.ID = new
		for i := range v.Conductors {
			c := &v.Conductors[i]
			for _, end := range []*string{&c.From, &c.To} {
				if t, ok := strings.CutPrefix(*end, old+"."); ok {
					*end = new + "." + t
				}
			}
		}
		return nil
	})
}

// SetDevice replaces the kind, label, place and numbers of a device.
func (u *Unit) SetDevice(d Device) error {
	return u.try(func(v *Unit) error {
		o := v.Device(d.ID)
		if o == nil {
			return fail(ErrUnknown, "device "+d.ID, "not in this unit")
		}
		*o = d
		return nil
	})
}

// AddConductor adds a conductor; its name must be new.
func (u *Unit) AddConductor(c Conductor) error {
	return u.try(func(v *Unit) error { v.Conductors = append(v.Conductors, c); return nil })
}

// DeleteConductor removes a conductor.
func (u *Unit) DeleteConductor(id string) error {
	return u.try(func(v *Unit) error {
		if v.Conductor(id) == nil {
			return fail(ErrUnknown, "conductor "+id, "not in this unit")
		}
		v.Conductors = slices.DeleteFunc(v.Conductors, func(c Conductor) bool { return c.ID == id })
		return nil
	})
}

// RenameConductor renames a conductor.
func (u *Unit) RenameConductor(old, new string) error {
	return u.try(func(v *Unit) error {
		c := v.Conductor(old)
		if c == nil {
			return fail(ErrUnknown, "conductor "+old, "not in this unit")
		}
		c.ID = new
		return nil
	})
}

// SetConductor replaces everything of a conductor but its name.
func (u *Unit) SetConductor(c Conductor) error {
	return u.try(func(v *Unit) error {
		o := v.Conductor(c.ID)
		if o == nil {
			return fail(ErrUnknown, "conductor "+c.ID, "not in this unit")
		}
		*o = c
		return nil
	})
}
