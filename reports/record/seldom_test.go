package record

import "testing"

// No step waits for a field that most jobs do without, and none is misspelt.
func TestSeldom(t *testing.T) {
	for key := range seldom {
		f, err := ByKey(key)
		if err != nil {
			t.Error(err)
		}
		if f.Need {
			t.Errorf("%s is needed and seldom", key)
		}
	}
}
