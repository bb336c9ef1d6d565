package words

import (
	"strings"
	"testing"
	"text/template"

	"golang.org/x/text/language"
	"golang.org/x/text/message"
	"golang.org/x/text/number"
)

// use sets a language for a test.
func use(t *testing.T, language, mark string) {
	t.Helper()
	if err := Use(language, mark); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := Use(English, Point); err != nil {
			t.Error(err)
		}
	})
}

func TestSay(t *testing.T) {
	use(t, Spanish, Comma)
	for _, c := range []struct{ in, want string }{
		{"Suction pressure", "Presión de succión"},
		{"suction pressure", "presión de succión"}, // small where the sentence goes on
		{"Live parts. Never start into a vacuum.", "Partes vivas. Nunca arranque en vacío."},
		{"Liquid pressure, Suction pressure", "Presión de líquido, Presión de succión"},
		{"The {A} nobody wrote", "The {A} nobody wrote"},
		{"pressure ± 1.5 psig", "presión ± 1,5 psig"},
		{"12,345.6 Btu/h", "12.345,6 Btu/h"},
		{"NEC 440.22 asks for 17.5 A", "NEC 440.22 asks for 17,5 A"}, // an article of the code is a name
		{"R-410A", "R-410A"},
		{"208.5-230.5 V, -1.5 °F (2.5)", "208,5-230,5 V, -1,5 °F (2,5)"},
		{"retrostage-1.2.3.pdf", "retrostage-1.2.3.pdf"},
		{"compressor contactor L1 (line side) to crankcase heater one lead", "contactor del compresor L1 (lado de línea) a calentador del cárter un cable"},
		{Own("Suction pressure 1.5"), "Suction pressure 1.5"},
	} {
		if got := Say(c.in); got != c.want {
			t.Errorf("%q: %q, want %q", c.in, got, c.want)
		}
	}
	if got := Number("118.5"); got != "118,5" {
		t.Errorf("a number: %q", got)
	}
	for _, keep := range []string{"1,250", "2026-08-14", "1.2.3", "open line"} {
		if got := Number(keep); got != keep {
			t.Errorf("%q became %q", keep, got)
		}
	}
	use(t, English, Point)
	if got := Say("Suction pressure 1.5"); got != "Suction pressure 1.5" {
		t.Errorf("back in English: %q", got)
	}
}

// A language that was chosen is shown whatever the system's is, and so are the toolkit's
// own words left alone.
func TestChosenBesideTheSystem(t *testing.T) {
	for _, system := range []string{"C", "en_US.UTF-8", "es_MX.UTF-8", "de_DE.UTF-8"} {
		t.Setenv("LC_ALL", system)
		use(t, Spanish, Point)
		if got := Say("Superheat"); got != "Sobrecalentamiento" {
			t.Errorf("%s: %q", system, got)
		}
		use(t, English, Point)
		if got := Say("Superheat"); got != "Superheat" {
			t.Errorf("%s, English: %q", system, got)
		}
	}
	t.Setenv("LC_ALL", "es_ES.UTF-8")
	use(t, System, "")
	if got := Say("Superheat") + " " + Mark(); got != "Sobrecalentamiento ," {
		t.Errorf("as the system: %q", got)
	}
	t.Setenv("LC_ALL", "es_MX.UTF-8")
	use(t, System, "")
	if got := Say("Superheat") + " " + Mark(); got != "Sobrecalentamiento ." {
		t.Errorf("as the system: %q", got)
	}
}

// Every entry can be said: its template stands, with the same blanks on both sides.
func TestCatalogueStands(t *testing.T) {
	c, err := Catalogue()
	if err != nil {
		t.Fatal(err)
	}
	blanks := func(s string) map[string]bool {
		m := map[string]bool{}
		for _, p := range strings.Split(s, "{{.")[1:] {
			n, _, _ := strings.Cut(p, "}}")
			m[n] = true
		}
		return m
	}
	for k, v := range c {
		if _, err := template.New("").Parse(v); err != nil {
			t.Errorf("%q: %v", k, err)
		}
		a, b := blanks(k), blanks(v)
		if len(a) != len(b) {
			t.Errorf("%q: other blanks in %q", k, v)
		}
		for n := range a {
			if !b[n] {
				t.Errorf("%q: %q lacks %s", k, v, n)
			}
		}
		if strings.TrimSpace(v) == "" || strings.ContainsAny(k[len(k)-1:], ".!;:") && !strings.Contains(k, ". ") && !strings.Contains(k, "{{.Name") {
			t.Errorf("%q = %q", k, v)
		}
	}
}

// The list of decimal marks against the library of locales.
func TestMarks(t *testing.T) {
	for _, l := range []string{"en-US", "en-GB", "en-CA", "en-ZA", "es-ES", "es-MX", "es-US", "es-419", "es-AR", "es-CL", "es-CO", "es-PR", "es-GT", "es-HN", "es-NI", "es-PA",
		"es-SV", "es-DO", "es-PE", "es-CU", "es-UY", "es-PY", "es-VE", "es-BO", "es-EC", "es-CR", "fr-FR", "fr-CA", "de-DE", "de-AT", "de-CH", "it-IT", "it-CH", "pt-BR", "pl-PL", "ru-RU", "zh-CN", "ja-JP", "ko-KR", "vi-VN"} {
		p := message.NewPrinter(language.MustParse(l))
		want := strings.Contains(p.Sprint(number.Decimal(1.5)), ",")
		if got := commaIn(l); got != want {
			t.Errorf("%s: %v", l, got)
		}
	}
}

// What the check-out says of a way around a switch or a fuse is known in Spanish, with
// the parts' names in it.
func TestBypassesInSpanish(t *testing.T) {
	use(t, Spanish, Point)
	heard := map[string]bool{}
	Heard = func(text string, known bool) { heard[text] = known }
	t.Cleanup(func() { Heard = nil })
	for _, text := range []string{
		"open, or at least 74.2 ohm; continuity would be a bypass",
		"open, or at least 74.2 ohm; less would be a bypass",
		"indoor terminal strip, C to Y1, with the leads pulled off the high-pressure switch",
		"with the 3 A control fuse taken out (locked out, proved dead) the meter shows open, or at least 50 ohm, from the control transformer 24 V side left to each of these: indoor terminal strip R; thermostat R; less is a way around the fuse. Then put it back",
		"to be read with the fuse out, before power",
	} {
		if said := Say(text); !heard[text] || said == text {
			t.Errorf("%q is said %q, known %v", text, said, heard[text])
		}
	}
}
