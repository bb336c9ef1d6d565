package record

import (
	"fmt"
	"strings"
)

// Key names a field. The zero Key names none. A Key is declared beside its
// field (fields.go), made for one job by PlanKey or MeterKey, or found by
// ByName: text is not one, so that a field that does not exist does not compile.
type Key struct{ name string }

// String is the key as files have it.
func (k Key) String() string { return k.name }

// MarshalText writes the key as files have it.
func (k Key) MarshalText() ([]byte, error) { return []byte(k.name), nil }

// UnmarshalText takes any text; Decode tells with its place whether there is
// such a field.
func (k *Key) UnmarshalText(b []byte) error { k.name = string(b); return nil }

// Field is what k was declared as; the zero Field where there is none.
func (k Key) Field() Field {
	f, _ := ByKey(k)
	return f
}

// Label is the field's label, the key itself where there is no such field.
func (k Key) Label() string {
	if f, err := ByKey(k); err == nil {
		return f.Label
	}
	return k.name
}

// Fields lists the declared fields in the order in which they are asked.
var Fields []Field

// declared is where in Fields a key stands.
var declared = map[Key]int{}

func declare(f Field, name string) Key {
	f.Key = Key{name}
	if _, twice := declared[f.Key]; twice {
		panic("record: field declared twice: " + name)
	}
	declared[f.Key] = len(Fields)
	Fields = append(Fields, f)
	return f.Key
}

// at is the field of a key while it is being declared.
func at(k Key) *Field { return &Fields[declared[k]] }

// planPrefix opens the keys that answer the wiring planner's questions. Which
// questions there are depends on the unit, so these fields are not in the
// table: each is a line of text in the Wiring step.
const planPrefix = "plan/"

// PlanKey is the field key of the wiring decision called name.
func PlanKey(name string) Key { return Key{planPrefix + name} }

// PlanName is the inverse of PlanKey; ok is false for any other key.
func PlanName(k Key) (name string, ok bool) { return strings.CutPrefix(k.name, planPrefix) }

// ByKey finds a field. The error names the key.
func ByKey(k Key) (Field, error) {
	if i, ok := declared[k]; ok {
		return Fields[i], nil
	}
	if f, ok := meterField(k); ok {
		return f, nil
	}
	if name, ok := PlanName(k); ok && name != "" && len(name) < 100 {
		return Field{Key: k, Step: Wiring, Group: "Decisions", Label: name, Kind: Text}, nil
	}
	return Field{}, fmt.Errorf("unknown field %q", k.name)
}

// ByName finds the field of a name that comes from outside: a file, a column, a
// widget. The error names it.
func ByName(name string) (Field, error) { return ByKey(Key{name}) }

// Of lists the fields of one step in the order in which they are asked; what the
// program writes is not among them.
func Of(s Step) []Field {
	var fs []Field
	for _, f := range Fields {
		if f.Step == s && !f.Program {
			fs = append(fs, f)
		}
	}
	return fs
}
