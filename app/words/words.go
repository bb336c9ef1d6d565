// Package words turns what the program says into the language that is shown, at the
// place where it is painted and nowhere earlier. Everything below this speaks English;
// the English sentence is the key. Records, workbooks and job files hold what was said in
// English, whatever is shown.
//
// A sentence that carries numbers is looked up with each of them replaced by {{.A}},
// {{.B}} and so on. {{.Any}}, {{.Any2}} in a key stand for other texts of the program's,
// {{.Name}}, {{.Name2}} for what bears a name, {{.Pin}} for a terminal's. What the catalogue lacks is shown in English.
package words

import (
	"encoding/json"
	"regexp"
	"slices"
	"strings"
	"sync"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/lang"

	"retrostage/assets"
)

// Languages that can be chosen; "" is that of the system.
const (
	System  = ""
	English = "en"
	Spanish = "es"
)

// Marks that part the decimals; "" is that of the system's region.
const (
	Point = "."
	Comma = ","
)

// most is how many sentences are kept once said; then they are said anew.
const most = 6000

var now struct {
	sync.RWMutex
	on       bool                  // another language than English
	loaded   bool                  // the toolkit knows the catalogue
	comma    bool                  // decimals behind a comma
	texts    map[string]string     // the catalogue
	patterns map[string][]*pattern // by their first word, "" where they begin with what may be anything
	said     map[string]answer
}

type answer struct {
	text  string
	known bool
}

// pattern is a key that holds other sentences.
type pattern struct {
	key   string
	form  *regexp.Regexp
	names []string
}

// Catalogue is what the program can say in Spanish.
func Catalogue() (map[string]string, error) {
	b, err := assets.FS.ReadFile("words/es.json")
	if err != nil {
		return nil, err
	}
	var c map[string]string
	err = json.Unmarshal(b, &c)
	return c, err
}

// Use sets language and decimal mark. An error leaves English.
func Use(language, mark string) error {
	here := string(lang.SystemLocale())
	if language == System {
		language = English
		if strings.HasPrefix(here, Spanish) {
			language = Spanish
		}
	}
	now.Lock()
	defer now.Unlock()
	now.said = map[string]answer{}
	now.comma = mark == Comma || mark == "" && commaIn(here)
	if now.on = language == Spanish; !now.on && !now.loaded {
		return nil
	}
	c, err := Catalogue()
	if err != nil {
		now.on = false
		return err
	}
	// The toolkit follows the system's locale alone: what was chosen is given to it as
	// the words of that locale.
	// One by one, for "other" as a key of its own would mean a plural.
	type entry struct {
		ID    string `json:"id"`
		Other string `json:"other"`
	}
	told := make([]entry, 0, len(c))
	for k, v := range c {
		if !now.on {
			v = k
		}
		told = append(told, entry{k, v})
	}
	b, err := json.Marshal(told)
	if err == nil {
		err = lang.AddTranslationsForLocale(b, fyne.Locale(closest(here)))
	}
	if err != nil {
		now.on = false
		return err
	}
	now.loaded, now.texts, now.patterns = true, c, map[string][]*pattern{}
	for k := range c {
		if strings.Contains(k, "{{.Any") || strings.Contains(k, "{{.Name") || strings.Contains(k, "{{.Pin") {
			p := compile(k)
			now.patterns[first(k)] = append(now.patterns[first(k)], p)
		}
	}
	for _, ps := range now.patterns { // what is said most exactly comes first
		slices.SortFunc(ps, func(a, b *pattern) int {
			if d := len(b.key) - len(a.key); d != 0 {
				return d
			}
			return strings.Compare(a.key, b.key)
		})
	}
	return nil
}

// closest is the locale as the toolkit names those that it was given words for.
func closest(locale string) string {
	if len(locale) < 2 {
		return English
	}
	return locale
}

// Shown is the language that is shown.
func Shown() string {
	now.RLock()
	defer now.RUnlock()
	if now.on {
		return Spanish
	}
	return English
}

// Mark is what parts the decimals.
func Mark() string {
	now.RLock()
	defer now.RUnlock()
	if now.comma {
		return Comma
	}
	return Point
}

// Heard, where it is set, is told every sentence that is said, and whether the catalogue
// has it. Tests set it before anything is shown.
var Heard func(text string, known bool)

// own marks what a person typed or what bears a name: it is shown as it is.
const own = "\x00"

// Own is a text that is no word of the program's.
func Own(text string) string {
	if text == "" {
		return ""
	}
	return own + text
}

// Say is a text of the program's in the language shown.
func Say(text string) string {
	now.RLock()
	plain := !now.on && !now.comma && Heard == nil
	a, ok := now.said[text]
	now.RUnlock()
	switch {
	case strings.HasPrefix(text, own):
		return text[len(own):]
	case plain || text == "":
		return text
	case ok:
		return a.text
	}
	now.Lock()
	defer now.Unlock()
	if len(now.said) >= most {
		clear(now.said)
	}
	a = say(text, 0)
	if now.comma {
		a.text = commas(a.text)
	}
	now.said[text] = a
	if Heard != nil {
		Heard(text, a.known)
	}
	return a.text
}

// All says several.
func All(texts []string) []string {
	if Shown() == English && Mark() == Point {
		return texts
	}
	out := make([]string, len(texts))
	for i, t := range texts {
		out[i] = Say(t)
	}
	return out
}

var (
	letter  = regexp.MustCompile(`\pL{2,}`)
	figures = regexp.MustCompile(`\d+(?:[.,:]\d+)*`)
	pin     = regexp.MustCompile(`^[A-Z]{2,4}$|^[A-Z][A-Z0-9]*\.[A-Z0-9]+$`) // a device's or a terminal's
	ends    = regexp.MustCompile(`[.!?;:] |\n|  \|  `)
)

// Key is the form in which the catalogue has a text: numbers replaced by names in turn.
func Key(text string) (key string, numbers map[string]string) {
	n := 0
	key = figures.ReplaceAllStringFunc(text, func(f string) string {
		if n >= 26 {
			return f
		}
		name := string(rune('A' + n))
		if numbers == nil {
			numbers = map[string]string{}
		}
		numbers[name] = f
		n++
		return "{{." + name + "}}"
	})
	return key, numbers
}

// say looks a text up: whole, with its numbers apart, as a pattern, and then by its
// sentences. What has no word in it needs no translation.
func say(text string, deep int) answer {
	if !now.on || !letter.MatchString(text) {
		return answer{text, true}
	}
	if a, ok := exact(text); ok {
		return a
	}
	if symbol(text) {
		return answer{text, true}
	}
	if a, ok := list(text); ok {
		return a
	}
	if deep > 4 {
		return answer{text, false}
	}
	if a := pieces(text, deep); a.known {
		return a
	} else if m := match(text, deep); m.known || a.text == text {
		return m
	} else {
		return a
	}
}

// pieces says the sentences of a text one by one, with what parts them as it is; the
// catalogue may have several of them as one.
func pieces(text string, deep int) answer {
	type piece struct{ from, to, next int }
	var ps []piece
	from := 0
	for _, at := range ends.FindAllStringIndex(text, -1) {
		ps = append(ps, piece{from, at[0], at[1]})
		from = at[1]
	}
	last := len(strings.TrimRight(text, ".!?;:"))
	if ps = append(ps, piece{from, max(last, from), len(text)}); len(ps) == 1 && last == len(text) {
		return answer{text, false}
	}
	var b strings.Builder
	known := true
	for i := 0; i < len(ps); i++ {
		done := false
		for j := len(ps) - 1; j > i && !done; j-- {
			if a, ok := exact(text[ps[i].from:ps[j].to]); ok {
				b.WriteString(asked(a.text, text[ps[j].to:ps[j].next]))
				i, done = j, true
			}
		}
		if done {
			continue
		}
		one := text[ps[i].from:ps[i].to]
		a, ok := exact(one)
		if !ok {
			a, ok = list(one)
		}
		if !ok {
			if a = match(one, deep+1); symbol(one) {
				a.known = true
			}
		}
		known = known && a.known
		b.WriteString(asked(a.text, text[ps[i].to:ps[i].next]))
	}
	return answer{b.String(), known}
}

// asked is a sentence with what ends it; in Spanish a question has a sign before it too.
func asked(text, end string) string {
	if strings.HasPrefix(end, "?") && text != "" && !strings.HasPrefix(text, "¿") {
		text = "¿" + text
	}
	return text + end
}

// list says a row of texts with commas between them, each of which the catalogue has;
// one may hold commas itself.
func list(text string) (answer, bool) {
	ps := strings.Split(text, ", ")
	if len(ps) < 2 {
		return answer{}, false
	}
	var said []string
	for i := 0; i < len(ps); {
		j := len(ps)
		for ; j > i; j-- {
			one := strings.Join(ps[i:j], ", ")
			a, ok := exact(one)
			if !ok && j == i+1 && (symbol(one) || !letter.MatchString(one)) {
				a, ok = answer{one, true}, true
			}
			if !ok && j == i+1 {
				a = match(one, 4)
				ok = a.known
			}
			if ok {
				said = append(said, a.text)
				break
			}
		}
		if j == i {
			return answer{}, false
		}
		i = j
	}
	return answer{strings.Join(said, ", "), true}, true
}

// exact looks a text up as it is, and with its numbers apart. One with
// a small first letter is the same as one with a capital.
func exact(text string) (answer, bool) {
	look := func(t string) (string, bool) {
		if _, ok := now.texts[t]; ok {
			return lang.L(t), true
		}
		k, numbers := Key(t)
		if numbers == nil {
			return "", false
		}
		if _, ok := now.texts[k]; ok {
			return lang.L(k, numbers), true
		}
		return "", false
	}
	if t, ok := look(text); ok {
		return answer{t, true}, true
	}
	if t, ok := look(lower(text)); ok {
		return answer{upper(t), true}, true
	}
	if t, ok := look(upper(text)); ok {
		return answer{lower(t), true}, true
	}
	return answer{}, false
}

// match tries the keys that hold other sentences.
func match(text string, deep int) answer {
	if deep > 4 {
		return answer{text, false}
	}
	best := answer{text, false}
	for _, start := range []string{first(text), first(lower(text)), ""} {
		for _, p := range now.patterns[start] {
			m := p.form.FindStringSubmatch(text)
			if m == nil {
				continue
			}
			data, known := map[string]string{}, true
			for i, name := range p.names {
				v := m[i+1]
				if strings.HasPrefix(name, "Any") {
					a := say(v, deep+1)
					v, known = a.text, known && a.known
				}
				data[name] = v
			}
			if known {
				return answer{lang.L(p.key, data), true}
			}
			if best.text == text {
				best.text = lang.L(p.key, data)
			}
		}
	}
	return best
}

func compile(key string) *pattern {
	p := &pattern{key: key}
	var b strings.Builder
	b.WriteString(`(?s)^`)
	rest := key
	for {
		i := strings.Index(rest, "{{.")
		if i < 0 {
			break
		}
		b.WriteString(regexp.QuoteMeta(rest[:i]))
		name, after, _ := strings.Cut(rest[i+3:], "}}")
		p.names = append(p.names, name)
		switch {
		case strings.HasPrefix(name, "Any"), strings.HasPrefix(name, "Name"):
			b.WriteString(`(.+?)`)
		case strings.HasPrefix(name, "Pin"):
			b.WriteString(`([A-Z][A-Z0-9.]{0,9})`)
		default:
			b.WriteString(`(` + figures.String() + `)`)
		}
		rest = after
	}
	b.WriteString(regexp.QuoteMeta(rest) + `$`)
	p.form = regexp.MustCompile(b.String())
	return p
}

// first is the first word of a key, "" where that may be anything.
func first(key string) string {
	w, _, _ := strings.Cut(key, " ")
	if strings.Contains(w, "{{") || figures.MatchString(w) {
		return ""
	}
	return w
}

func lower(s string) string {
	if len(s) > 1 && s[0] >= 'A' && s[0] <= 'Z' && !(s[1] >= 'A' && s[1] <= 'Z') {
		return string(s[0]+'a'-'A') + s[1:]
	}
	return s
}

func upper(s string) string {
	for i, r := range s {
		if i == 0 {
			return strings.ToUpper(string(r)) + s[len(string(r)):]
		}
	}
	return s
}

// symbols are units and signs that are the same in both languages.
var symbols = map[string]bool{}

func init() {
	for _, s := range strings.Fields("psi psig psia inHg mmHg kPa MPa bar mbar Pa micron microns °F °C K BTU Btu Btu/h kW W kWh VA A V VAC VDC Hz ohm kohm Mohm µF MFD uF " +
		"cfm m³/h L/s L ft ft² ft³ in in² mm cm m kg g oz lb lbs min h s d rpm AWG kcmil IP SI PDF PNG CSV xlsx NEC JCGM OK GFCI SHR SEER EER LRA RLA MCA MOP FLA A/C AC DC T-17 RS-1 kJ kg/s kJ/kg lb/h kg/h MΩ kΩ mΩ GΩ mA in³ in fl cfm/ton Btu/Wh Retrostage ANSI IEEE NFPA AHRI ASHRAE NREL CFR FR DEMO") {
		symbols[s] = true
	}
}

// symbol tells a text of numbers, units and designations alone.
func symbol(text string) bool {
	for _, w := range strings.Fields(text) {
		w = strings.Trim(w, ".,;:()±/")
		if !letter.MatchString(w) || symbols[w] || pin.MatchString(w) || figures.MatchString(w) && len(w) < 12 {
			continue
		}
		return false
	}
	return true
}

var (
	numeral = regexp.MustCompile(`\d+(?:[.,]\d+)+`)
	shaped  = regexp.MustCompile(`^(?:\d{1,3}(?:,\d{3})+(?:\.\d+)?|\d+\.\d+)$`)
	before  = regexp.MustCompile(`(?:^|[\s(\x{a0}±<>=~≥≤+−/×]|(?:^|[\s(\d])-)$`)
	behind  = regexp.MustCompile(`^(?:$|[\s).,;:%°\x{a0}×/-])`)
	article = regexp.MustCompile(`(?i)\b(NEC|article|section|clause|table|version|JCGM|CFR|Go)\b`)
	cited   = regexp.MustCompile(`^\d{3}\.\d{1,3}$`)
)

// commas writes decimals behind a comma and parts thousands by points. Articles of a
// code and versions are names and stay.
func commas(text string) string {
	names := article.MatchString(text)
	var b strings.Builder
	from := 0
	for _, at := range numeral.FindAllStringIndex(text, -1) {
		n := text[at[0]:at[1]]
		b.WriteString(text[from:at[0]])
		from = at[1]
		if shaped.MatchString(n) && before.MatchString(text[:at[0]]) && behind.MatchString(text[at[1]:]) && !(names && cited.MatchString(n)) {
			n = swap(n)
		}
		b.WriteString(n)
	}
	return b.String() + text[from:]
}

func swap(n string) string {
	return strings.Map(func(r rune) rune {
		switch r {
		case '.':
			return ','
		case ',':
			return '.'
		}
		return r
	}, n)
}

var plain = regexp.MustCompile(`^-?\d+\.\d+(--?\d+(\.\d+)?)?$|^-?\d+--?\d+\.\d+$`)

// Number is a number of the record as it stands in an entry.
func Number(text string) string {
	if Mark() == Comma && plain.MatchString(text) {
		return strings.ReplaceAll(text, ".", ",")
	}
	return text
}

// commaIn tells whether decimals stand behind a comma where a locale is at home. The
// list is held against the toolkit's library of locales (TestMarks).
func commaIn(locale string) bool {
	language, region, _ := strings.Cut(locale, "-")
	region, _, _ = strings.Cut(region, "-")
	switch language {
	case "es":
		return !slices.Contains([]string{"419", "US", "MX", "PR", "GT", "HN", "NI", "PA", "SV", "DO", "PE", "BZ", "CU", "BR"}, region)
	case "en":
		return region == "AT" || region == "DE" || region == "DK" || region == "FI" || region == "NL" || region == "SE" || region == "SI" || region == "ZA"
	case "fr", "de", "it", "pt", "nl", "pl", "ru", "uk", "cs", "sk", "da", "nb", "nn", "no", "sv", "fi", "el", "tr", "ro", "hu", "bg", "hr", "sr", "sl", "vi", "id":
		return !(language == "de" && (region == "CH" || region == "LI") || language == "it" && region == "CH")
	}
	return false
}
