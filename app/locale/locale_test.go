package locale

import "testing"

func TestUnderstood(t *testing.T) {
	type env = map[string]string
	for _, c := range []struct {
		env  env
		want bool
	}{
		{nil, true},
		{env{"LANG": "C"}, true},
		{env{"LANG": "C", "LANGUAGE": "C.UTF-8"}, true}, // LANGUAGE is not read then
		{env{"LANG": "POSIX"}, true},
		{env{"LANG": "C.UTF-8"}, false},
		{env{"LANG": "C.UTF-8", "LANGUAGE": "de"}, true},
		{env{"LANG": "de", "LC_ALL": "C.utf8"}, false},
		{env{"LANG": "C.utf8", "LC_ALL": "de"}, true},
		{env{"LANG": "de", "LC_MESSAGES": "C.utf8"}, false},
		{env{"LANG": "de_AT.UTF-8"}, true},
		{env{"LANG": "ca_ES@valencia"}, true},
		{env{"LANG": "es_419"}, true},
		{env{"LANG": "de_"}, false},
		{env{"LANG": "de_AUT"}, false},
		{env{"LANG": "de", "LANGUAGE": "de_AT:en"}, true},
		{env{"LANG": "de", "LANGUAGE": "de::en"}, false},
		{env{"LANG": "d1"}, false},
		{env{"LANG": ".UTF-8"}, false},
	} {
		if got := Understood(func(k string) string { return c.env[k] }); got != c.want {
			t.Errorf("%v: %v", c.env, got)
		}
	}
}
