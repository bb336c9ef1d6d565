package proof

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"retrostage/wiring/netlist"
	"retrostage/wiring/purpose"
)

// A label is a name. What else it says may be what matters most at the unit, and no
// program reads it for certain: a word that is no part of a name, a number that no
// field has, or a field's own matter said otherwise, is asked about.

// nameWords are the words of which a name may be made: what a part is, whose it is and
// which of them. No word that tells how it was found, where else it leads, or what it
// does beside its kind.
var nameWords = wordSet(`a an and by for in of on at the to with its is
	switch thermostat sensor overload contactor contactors relay capacitor fuse transformer disconnect supply heater fan motor blower
	compressor compressors board control controls strip terminal terminals splice screw cabinet lockout monitor thermistor time delay timer start wire nut lug kit
	float pan condensate crankcase potential indoor outdoor room line liquid suction discharge loss charge pressure temperature ambient air head cycling
	high low dual run first second third stage stages speed speeds two one three four capacity digital bus electronic electronically commutated conventional auxiliary hand
	single common lead leads leg side unit units call calls tap taps pair main left right upper lower front rear top bottom middle new part parts main point points pole poles
	ground contact restart unloading coil valve solenoid lamp pilot pump condenser cap stat cutout
	cutoff limit temp evaporator furnace handler circuit breaker door service isolation voltage safety dehumidistat humidistat overflow freeze freezestat drain 1st 2nd 3rd control's compressor's unit's fan's`)

// namePhrases are names whose words alone would be none.
var namePhrases = regexp.MustCompile(`(?i)\b(pull-?out|lock-?out|anti-?short-?cycle|manual[- ]reset|surge (arrest[eo]r|protector|suppressor))\b`)

// plateNames are the letters by which wiring diagrams call a part, and the kinds, as they
// begin, that bear them.
var plateNames = map[string][]string{
	"HPS": {"pressure-high", "switch"}, "HPC": {"pressure-high", "switch"}, "HPCO": {"pressure-high", "switch"},
	"LPS": {"pressure-low", "switch"}, "LPC": {"pressure-low", "switch"}, "LPCO": {"pressure-low", "switch"},
	"DTS": {"thermostat-discharge", "switch"}, "DTT": {"thermostat-discharge", "switch"}, "DLT": {"thermostat-discharge", "switch"},
	"OFM": {"fan"}, "ODF": {"fan"}, "ODFM": {"fan"}, "CFM": {"fan"}, "OFR": {"relay", "contactor"}, "CFR": {"relay", "contactor"}, "OFC": {"relay", "contactor", "capacitor"},
	"IFM": {"blower"}, "IBM": {"blower"}, "IDF": {"blower"}, "IFR": {"relay", "contactor"}, "IBR": {"relay", "contactor"},
	"CCH": {"heater"}, "TDR": {"time-delay", "relay"}, "XFMR": {"transformer"}, "LOR": {"lockout", "relay"}, "COMP": {"compressor"}, "DISC": {"supply"},
}

var (
	// letters of a diagram that make no word; not those that say of what kind something
	// is, or how it was found.
	letters    = regexp.MustCompile(`^[B-DF-HJ-NP-TV-XZ]{2,4}[0-9]{0,2}$`)
	noLetters  = regexp.MustCompile(`^(JMP|JMPD|JMPR|JPR|SHRT|STCK|STK|BRNT|WLD|BP|BPS|DC|HV|LV|GND|NC)[0-9]*$`)
	partNumber = regexp.MustCompile(`\b([0-9A-Z]{1,6})-([0-9]{2,6})[A-Z]?\b`)
	voltages   = regexp.MustCompile(`^(24|115|120|125|208|220|230|240|250|265|277|460|480|600)$`)
)

// plateName tells whether a word of a label is the letters of a diagram for a part.
func plateName(w string) bool {
	if plateNames[strings.TrimRight(w, "0123456789")] != nil {
		return true
	}
	return letters.MatchString(w) && !noLetters.MatchString(w)
}

// plateNamed asks about a label that is another kind's letters.
func (j *judge) plateNamed(d *netlist.Device) {
	name := strings.TrimRight(strings.TrimSpace(d.Label), "0123456789 -")
	if kinds := plateNames[name]; kinds != nil && !begins(kinds, d.Kind) {
		j.doubt("%s is called by the letters of another part, and it is entered as a %s: which is it?", d.Label, netlist.Kinds[d.Kind].Words)
	}
}

// withoutPartNumber takes a number of an order out of a name: of a part of which no
// two numbers with a dash are a setting or a range.
func withoutPartNumber(kind, label string) string {
	if !begins([]string{"relay", "contactor", "lockout", "time-delay"}, kind) {
		return label
	}
	return partNumber.ReplaceAllStringFunc(label, func(s string) string {
		m := partNumber.FindStringSubmatch(s)
		if voltages.MatchString(m[1]) || voltages.MatchString(m[2]) {
			return s
		}
		return " "
	})
}

// kindWords are names of parts that only some kinds may bear.
var kindWords = []struct {
	says  *regexp.Regexp
	kinds []string
}{
	{regexp.MustCompile(`(?i)\bhigh[- ]?pressure\b`), []string{"pressure-high", "switch"}},
	{regexp.MustCompile(`(?i)\blow[- ]?pressure\b`), []string{"pressure-low", "switch"}},
	{regexp.MustCompile(`(?i)\bdischarge thermostat\b`), []string{"thermostat-discharge", "switch"}},
	{regexp.MustCompile(`(?i)\bstart(ing)? capacitor\b`), []string{"capacitor-start"}},
	{regexp.MustCompile(`(?i)\brun capacitor\b`), []string{"capacitor-run", "capacitor-dual"}},
}

// elsewhereWords are words of another part's name or place that a kind does not bear.
var elsewhereWords = []struct {
	says *regexp.Regexp
	kind string
}{
	{regexp.MustCompile(`(?i)\b(suction|low[- ]side)\b`), "pressure-high"},
	{regexp.MustCompile(`(?i)\b(discharge|high[- ]side|head)\b`), "pressure-low"},
	{regexp.MustCompile(`(?i)\b(suction|liquid|ambient|outdoor|room|air|fan|cycling)\b`), "thermostat-discharge"},
}

// headWords are nouns that, last in a name, are the name of another kind of part.
var headWords = []struct {
	says *regexp.Regexp
	not  []string // kinds whose name it is not, as they begin
}{
	{regexp.MustCompile(`(?i)\bthermostat( \d)?$`), []string{"indoor", "relay", "contactor", "pressure", "time-delay", "monitor"}},
	{regexp.MustCompile(`(?i)\b(strip|board)( \d)?$`), []string{"thermostat", "relay", "contactor", "pressure", "time-delay"}},
	{regexp.MustCompile(`(?i)\b(time[- ]?delay|delay|timer)( relay)?( \d)?$`), []string{"relay", "contactor", "lockout", "pressure", "thermostat"}},
}

var (
	saysIndoor     = regexp.MustCompile(`(?i)\b(indoor|furnace|air handler)\b`)
	saysOutdoor    = regexp.MustCompile(`(?i)\b(outdoor|condenser)\b`)
	saysOutdoorAir = regexp.MustCompile(`(?i)\boutdoor[- ](air|temperature|thermostat|sensor|unit)`)
	saysFan        = regexp.MustCompile(`(?i)\bfan\b`)
	saysCompressor = regexp.MustCompile(`(?i)\bcompressor\b`)
)

// labelElsewhere asks about a name that is another part's: the work list calls the part
// by it, and a hand goes where the name says.
func (j *judge) labelElsewhere(d *netlist.Device, says string) {
	name, kind := d.Label, netlist.Kinds[d.Kind].Words
	for _, q := range elsewhereWords {
		if m := q.says.FindString(says); m != "" && strings.HasPrefix(d.Kind, q.kind) {
			j.doubt("the label of %s says %q, and it is entered as a %s: which is it?", name, m, kind)
		}
	}
	for _, q := range headWords {
		if m := q.says.FindString(says); m != "" && begins(q.not, d.Kind) {
			j.doubt("the label of %s says %q, and it is entered as a %s: which is it?", name, m, kind)
		}
	}
	if strings.HasPrefix(d.Kind, "supply") && saysIndoor.MatchString(says) && saysOutdoor.MatchString(says) {
		j.doubt("the label of %s names two places, and it is one supply of the place %s: does it open both? Call it by the one that it is at", name, d.Place)
	}
	outdoors := begins([]string{"fan", "pressure", "compressor", "heater", "overload", "supply"}, d.Kind)
	if d.Place == "outdoor" && outdoors && saysIndoor.MatchString(says) || d.Place == "indoor" && saysOutdoor.MatchString(says) && !saysOutdoorAir.MatchString(says) {
		j.doubt("the label of %s says where it is otherwise than its place, %s: which is right?", name, d.Place)
	}
	fan, compressor := saysFan.MatchString(says), saysCompressor.MatchString(says)
	if fan == compressor || !strings.HasPrefix(d.Kind, "contactor") && d.Kind != "relay" && d.Kind != "capacitor-run" {
		return
	}
	// Behind a line switch or an overload in the lead may be either.
	if j.wiredTo(d, "pressure-high-line") || j.wiredTo(d, "overload-line") {
		return
	}
	atFan, atCompressor := j.wiredTo(d, "fan"), j.wiredTo(d, "compressor")
	if fan && atCompressor && !atFan || compressor && atFan && !atCompressor {
		j.doubt("the label of %s names another motor than the one that its conductors lead to: which is right?", name)
	}
}

// wiredTo tells whether conductors lead from a part to a line end of a motor of some
// kind that what is live at rest does not lie on.
func (j *judge) wiredTo(d *netlist.Device, kind string) bool {
	for _, t := range lineEndsOrAny(d) {
		at, ok := j.now.Node(d.ID + "." + t)
		if !ok || j.onSupply(at) {
			continue
		}
		for i := range j.now.Unit.Devices {
			m := &j.now.Unit.Devices[i]
			if !strings.HasPrefix(m.Kind, kind) {
				continue
			}
			if slices.ContainsFunc(lineEnds(j.now, m.ID), func(e string) bool { n, ok := j.now.Node(m.ID + "." + e); return ok && j.wires().same(at, n) }) {
				return true
			}
		}
	}
	return false
}

// onSupply tells whether conductors alone lead from a node to a supply.
func (j *judge) onSupply(at int) bool {
	for i := range j.now.Sources {
		if src := &j.now.Sources[i]; !src.Coupled() {
			a, b, _, _ := src.Nodes()
			if j.wires().same(at, a) || j.wires().same(at, b) {
				return true
			}
		}
	}
	return false
}

func lineEndsOrAny(d *netlist.Device) (out []string) {
	for _, t := range netlist.Kinds[d.Kind].Terminals {
		if t.Class == netlist.Line || t.Class == netlist.Any {
			out = append(out, t.Name)
		}
	}
	return
}

func wordSet(s string) map[string]bool {
	out := map[string]bool{}
	for w := range strings.FieldsSeq(s) {
		out[w] = true
	}
	return out
}

var (
	refrigerantIn = regexp.MustCompile(`(?i)\bR[- ]?([0-9]{2,3}[a-z]?)\b`)
	numberIn      = regexp.MustCompile(`(?i)(\d+(?:[.,]\d+)?)\s?(microfarads?|uf|\x{b5}f|\x{3bc}f|mfd|psig?|kpa|mpa|bar|volts?|vac|vdc|v|amps?|amperes?|a|watts?|w|va|ohms?|sec(?:onds?)?|min(?:utes?)?|s|\x{b0}? ?[cf]|deg(?:rees)? [cf]|hz)\b`)
	designation   = regexp.MustCompile(`^[A-Z]{1,3}[0-9]{1,2}$|^[A-Za-z]$|^[0-9]{1,2}$`)
	separators    = regexp.MustCompile(`[^\p{L}\p{N}']+`)
)

// in SI, of a number with a unit of a label; ok is false for a unit that no field has.
func inSI(v float64, unit string) (float64, string, bool) {
	switch u := strings.ToLower(strings.Trim(unit, "\u00b0 ")); {
	case strings.HasPrefix(u, "v") && u != "va":
		return v, "V", true
	case u == "a" || strings.HasPrefix(u, "amp"):
		return v, "A", true
	case u == "w" || strings.HasPrefix(u, "watt"):
		return v, "W", true
	case u == "va":
		return v, "VA", true
	case strings.HasPrefix(u, "ohm"):
		return v, "ohm", true
	case u == "uf", u == "mfd", u == "\u00b5f", u == "\u03bcf", strings.HasPrefix(u, "microfarad"):
		return 1e-6 * v, "F", true
	case strings.HasPrefix(u, "psi"):
		return 6894.757 * v, "Pa", true
	case u == "kpa":
		return 1e3 * v, "Pa", true
	case u == "mpa":
		return 1e6 * v, "Pa", true
	case u == "bar":
		return 1e5 * v, "Pa", true
	case u == "s", strings.HasPrefix(u, "sec"):
		return v, "s", true
	case strings.HasPrefix(u, "min"):
		return 60 * v, "s", true
	case strings.HasSuffix(u, "c"):
		return v + 273.15, "K", true
	case strings.HasSuffix(u, "f"):
		return (v-32)/1.8 + 273.15, "K", true
	}
	return v, unit, false
}

// labelRead asks about what the label of a part says beside its name.
func (j *judge) labelRead(d *netlist.Device) {
	if d.Label == netlist.Kinds[d.Kind].Words { // as the program named it
		return
	}
	name, rest := d.Label, d.Label
	if m := refrigerantIn.FindStringSubmatch(rest); m != nil {
		r := "R-" + strings.ToUpper(m[1])
		switch {
		case j.now.Unit.Refrigerant == "":
			j.doubt("the label of %s names %s, and the unit's refrigerant is not entered: read it on the unit's plate and enter it (refrigerant)", name, r)
		case !strings.EqualFold(j.now.Unit.Refrigerant, r):
			j.doubt("the label of %s names %s, and the unit's plate %s: is the part one for this refrigerant? Read what is marked on it", name, r, j.now.Unit.Refrigerant)
		}
		rest = refrigerantIn.ReplaceAllString(rest, " ")
	}
	for _, m := range numberIn.FindAllStringSubmatch(rest, -1) {
		v, err := strconv.ParseFloat(strings.Replace(m[1], ",", ".", 1), 64)
		si, unit, known := inSI(v, m[2])
		switch {
		case err == nil && known && j.hasNumber(d, si, unit):
		case numbersOf(d, unit) == none && d.NameOnly:
			j.reserve("what the label of %s says (%s) has no field, and is taken for a name, as a person states", name, strings.TrimSpace(m[0]))
		default:
			j.doubt("the label of %s says %s, and no number entered for it is that: read it on the part, and enter what is right (%s)", name, strings.TrimSpace(m[0]), numbersOf(d, unit))
		}
	}
	rest = withoutPartNumber(d.Kind, numberIn.ReplaceAllString(rest, " "))
	j.plateNamed(d)
	for _, q := range kindWords {
		if m := q.says.FindString(rest); m != "" && (netlist.Kinds[d.Kind].MayPigtail() || strings.HasPrefix(d.Kind, "capacitor")) && !begins(q.kinds, d.Kind) {
			j.doubt("the label of %s says %q, and it is entered as a %s: which is it?", name, m, netlist.Kinds[d.Kind].Words)
		}
	}
	j.labelElsewhere(d, rest)
	var strange []string
	for _, w := range separators.Split(namePhrases.ReplaceAllString(rest, " "), -1) {
		if w != "" && w != d.ID && !nameWords[strings.ToLower(w)] && !designation.MatchString(w) && !plateName(w) && !slices.Contains(strange, w) && !(strings.EqualFold(w, "hot") && j.isHot(d)) {
			strange = append(strange, w)
		}
	}
	switch {
	case strange == nil:
	case d.NameOnly:
		j.reserve("what the label of %s says (%s) is taken for a name and nothing else, as a person states", name, strings.Join(strange, ", "))
	default:
		j.doubt("the label of %s says %q, which no field of it says. If that is how it was found, where it senses or what it is for, enter it in its field (condition, sits, use, its numbers); if it is a name and nothing else, say so (name-only)", name, strings.Join(strange, " "))
	}
}

// isHot tells whether a splice is what "hot" says: live to earth by the line at rest. A
// splice of the grounded side or of 24 V that is called so is asked about.
func (j *judge) isHot(d *netlist.Device) bool {
	x, err := j.s.Solve(j.now.Rest())
	if d.Kind != "splice" || err != nil {
		return false
	}
	v, err := x.ToEarth(d.ID + ".1")
	return err == nil && abs(v) > leastHot
}

// leastHot is more than any 24 V circuit has to earth, and less than a leg has, V.
const leastHot = 60

// hasNumber tells whether a device has a number of a unit, within 5 %; of amperes not
// what it makes and breaks of a locked rotor.
func (j *judge) hasNumber(d *netlist.Device, si float64, unit string) bool {
	if unit == "V" && si == 24 && !slices.ContainsFunc(netlist.Kinds[d.Kind].Terminals, func(t netlist.Terminal) bool { return t.Class != netlist.Class2 }) {
		return true // all its terminals are for that
	}
	return slices.ContainsFunc(netlist.Kinds[d.Kind].Params, func(p netlist.Param) bool {
		v := d.P(p.Name)
		return p.Unit == unit && p.Name != "contact-lra" && p.Name != "pick-up" && p.Name != "drop-out" && v > 0 && math.Abs(v-si) <= 0.05*v
	})
}

const none = "it has none in that unit"

// numbersOf names the numbers that a device may have in a unit.
func numbersOf(d *netlist.Device, unit string) string {
	var out []string
	for _, p := range netlist.Kinds[d.Kind].Params {
		if p.Unit == unit {
			out = append(out, p.Name)
		}
	}
	if out == nil {
		return none
	}
	return strings.Join(out, ", ")
}

// namesThatGo reads the names of what leaves, and the colours: the work list calls the
// parts and conductors by them while they are still there.
func (j *judge) namesThatGo() {
	for i := range j.old.Unit.Devices {
		d := &j.old.Unit.Devices[i]
		if is := j.now.Unit.Device(d.ID); is == nil || is.Label != d.Label {
			j.labelRead(d)
		}
	}
	for i := range j.old.Unit.Conductors {
		if w := &j.old.Unit.Conductors[i]; j.now.Unit.Conductor(w.ID) == nil {
			j.colourRead(w)
		}
	}
}

// saysFound are words of an ID, a title or a note by which something was found wrong.
var saysFound = regexp.MustCompile(`(?i)(jumper|bypass|bridged|stuck|welded|burnt|burned|shorted|defective|faulty|broken|temporary|disconnected|alumin|high[- ]leg|three[- ]phase|heat[- ]?pump|reversing)`)

// otherTexts asks about IDs, title and note that say what no field does: nobody reads
// them while the plan is made.
func (j *judge) otherTexts() {
	u := j.old.Unit
	for _, q := range [][2]string{{"title", u.Title}, {"note", u.Note}} {
		if m := saysFound.FindString(q[1]); m != "" {
			j.doubt("the %s of the unit says %q: if that is so, enter it at the part that it is about (its connections, condition, use), and take it out of the %s", q[0], strings.ToLower(m), q[0])
		}
	}
	for i := range u.Devices {
		if m := saysFound.FindString(u.Devices[i].ID); m != "" && j.now.Unit.Device(u.Devices[i].ID) != nil && j.data.Replaced[u.Devices[i].ID] == "" {
			j.doubt("%s has the ID %s, which says %q: if that is so, enter it (its connections, condition), and call the part by another", label(j.now, u.Devices[i].ID), u.Devices[i].ID, strings.ToLower(m))
		}
	}
	for i := range u.Devices { // where the label does not tell, the list calls it by its ID
		d := &u.Devices[i]
		id, other := strings.ToUpper(d.ID), map[string]string{"pressure-high": "LP", "pressure-high-line": "LP", "pressure-low": "HP"}[d.Kind]
		if other != "" && strings.HasPrefix(id, other) {
			j.doubt("%s is a %s and has the ID %s, which is the other switch's: which is it?", label(j.old, d.ID), netlist.Kinds[d.Kind].Words, d.ID)
		}
	}
	for i := range u.Conductors {
		if o := u.Device(u.Conductors[i].ID); o != nil {
			j.doubt("conductor %s has the ID of %s: the list names both by it. Call the conductor otherwise", u.Conductors[i].ID, label(j.old, o.ID))
		}
		if m := saysFound.FindString(u.Conductors[i].ID); m != "" && j.now.Unit.Conductor(u.Conductors[i].ID) != nil {
			j.doubt("conductor %s is called so: is it one that belongs there? If somebody put it there to get round a part, take it out of the unit and of the drawing; if not, call it otherwise", u.Conductors[i].ID)
		}
	}
}

// colourWords are the words of a conductor's colour.
var colourWords = wordSet(`black red white blue brown yellow orange purple violet pink grey gray green tan light dark bare clear unmarked no colour
	blk blu yel grn wht brn orn gry pur vio pnk copper aluminium aluminum al marked taped tape stripe striped tracer with and or as at both ends`)

// colourCodes are the letters of wiring diagrams for colours that mean something here.
var colourCodes = strings.NewReplacer("grn", "green", "wht", "white", "gry", "grey")

// colourOf is the colour of a conductor in small letters and whole words.
func colourOf(w *netlist.Conductor) string { return colourCodes.Replace(strings.ToLower(w.Colour)) }

// colourRead asks about what the colour of a conductor says beside.
func (j *judge) colourRead(w *netlist.Conductor) {
	for _, t := range separators.Split(w.Colour, -1) {
		if t != "" && !colourWords[strings.ToLower(t)] {
			j.doubt("the colour of %s is entered as %q: %q is no colour. What is to be known of it?", w.ID, w.Colour, t)
			return
		}
	}
}

// colourTells reserves what the colour of a conductor says to the next one who opens
// the cabinet and is not so, and asks about one without insulation.
func (j *judge) colourTells(w *netlist.Conductor) {
	colour := colourOf(w)
	has := func(words ...string) bool {
		return slices.ContainsFunc(words, func(t string) bool { return strings.Contains(colour, t) })
	}
	switch {
	case colour == "":
	case w.Class != netlist.Ground && has("bare"):
		j.doubt("%s is entered as bare and is no equipment ground: a bare conductor touches what lies beside it. Put in an insulated one, and enter its colour", w.ID)
	case has("marked", "taped"):
	case w.Class == netlist.Ground && !has("green", "bare"):
		j.reserve("%s is an equipment ground and is %s: mark it green at both ends (NEC 250.119, number from memory), or who works there next takes it for a live one", w.ID, w.Colour)
	}
	for _, end := range []string{w.From, w.To} {
		id, terminal, _ := strings.Cut(end, ".")
		d := j.now.Unit.Device(id)
		if d == nil || d.Kind != "supply-120" || w.Class == netlist.Ground || has("marked", "taped") || colour == "" {
			continue
		}
		white := has("white", "grey", "gray")
		if terminal == "L" && white || terminal == "N" && !white {
			j.reserve("%s is %s and lies on the %s terminal of %s: white and grey are for the neutral (NEC 200.6 and 200.7, numbers from memory). Measure which is which, and mark it, before anything there is touched", w.ID, w.Colour, terminal, label(j.now, id))
		}
	}
}

// fieldsSay asks about what the fields of a part say that stays.
func (j *judge) fieldsSay(d *netlist.Device) {
	name, old := label(j.now, d.ID), j.old.Unit.Device(d.ID)
	if old != nil && (j.data.Replaced[d.ID] == "" || onlySet(d.Kind)) && j.landed(d) && !j.omitted(d.ID) {
		switch d.Condition {
		case "", "sound":
		case "not-tested":
			j.doubt("%s stays and was not tested: test it (ohms across its terminals, open and closed), and enter what it is (condition)", name)
		default:
			j.doubt("%s stays, and was found %s: mend or replace it first, and enter it as it is then (condition)", name, strings.ReplaceAll(d.Condition, "-", " "))
		}
	}
	j.seated(d)
	j.placed(d)
	if d.System != "" && d.System != "split-phase" {
		j.doubt("%s is a %s system: one leg, or both, stand at another voltage to earth than half of what is between them, and the breaker must be for that. What is planned here is for two legs about a grounded middle", name, strings.ReplaceAll(d.System, "-", " "))
	}
	if d.Kind == "impedance" && j.landed(d) {
		switch d.Use {
		case "":
			j.doubt("%s is entered as a bare impedance: see what it is, and enter that (use)", name)
		case "reversing-valve":
			j.doubt("%s works a reversing valve: the unit is a heat pump, and heat pumps are not converted by this plan", name)
		}
	}
	j.cutOut(d)
}

// onlySet tells of the kinds that a plan sets otherwise and never replaces: how they
// were found stays.
func onlySet(kind string) bool {
	return strings.HasPrefix(kind, "supply") || strings.HasPrefix(kind, "blower") || strings.HasPrefix(kind, "indoor") || kind == "thermostat" || kind == "thermostat-digital"
}

// seats are where what a kind senses is to be found.
var seats = map[string][]string{
	"overload-line":        {"outside-of-shell", "cabinet"},
	"thermostat-discharge": {"discharge-line", "outside-of-shell"},
	"pressure-high":        {"discharge-line", "liquid-line"},
	"pressure-high-line":   {"discharge-line", "liquid-line"},
	"pressure-low":         {"suction-line"},
}

// seatPlaces are the places at which a part can be that senses somewhere; the compressor
// stands for where the compressor is, the blower for where that is, with its coil.
var seatPlaces = map[string][]string{
	"discharge-line": {"compressor"}, "outside-of-shell": {"compressor"},
	"outdoor-air": {"outdoor"}, "room": {"room", "indoor"}, "drain-pan": {"blower"},
}

// placed holds where a part is against where it senses.
func (j *judge) placed(d *netlist.Device) {
	good := seatPlaces[d.Sits]
	if good == nil || j.omitted(d.ID) || !j.landed(d) {
		return
	}
	for _, l := range j.comps {
		if good[0] == "compressor" {
			good = []string{j.now.Unit.Device(l.Device).Place}
		}
	}
	for i, kind := range j.now.LoadKind {
		if good[0] == "blower" && kind == "blower" {
			good = []string{j.now.Unit.Device(j.now.Loads[i]).Place}
		}
	}
	if !slices.Contains(good, d.Place) {
		j.doubt("%s is entered as sitting at the %s, and as one of the place %s: which is right?", label(j.now, d.ID), strings.ReplaceAll(d.Sits, "-", " "), d.Place)
	}
}

// seated holds where a switch sits against what it is.
func (j *judge) seated(d *netlist.Device) {
	name := label(j.now, d.ID)
	switch good := seats[d.Kind]; {
	case d.Sits == "" || j.omitted(d.ID) || !j.landed(d):
	case d.Sits == "motor":
		j.doubt("%s is kept, and sits inside a motor or compressor: it leaves with the old one. State that as the reason for leaving it out, and see what protects the new one (NEC 440.52)", name)
	case good != nil && !slices.Contains(good, d.Sits):
		j.doubt("%s is a %s and is entered as sitting at the %s: which is it?", name, netlist.Kinds[d.Kind].Words, strings.ReplaceAll(d.Sits, "-", " "))
	}
}

// unseated names what stops the compressor, stays, and may sit inside the old one for
// all that is entered.
func (j *judge) unseated() {
	var names []string
	for i := range j.now.Unit.Devices {
		d := &j.now.Unit.Devices[i]
		kind := slices.Contains([]string{"thermostat-discharge", "overload-line", "switch"}, d.Kind)
		if !kind || d.Sits != "" || d.Place != "outdoor" || j.omitted(d.ID) || !j.landed(d) || j.old.Unit.Device(d.ID) == nil {
			continue
		}
		if slices.ContainsFunc(j.was.Interrupters, func(in purpose.Interrupter) bool {
			return in.Device == d.ID && slices.ContainsFunc(in.Stops, func(s purpose.Stop) bool { return s.Kind == "compressor" })
		}) {
			names = append(names, label(j.now, d.ID))
		}
	}
	if names != nil {
		j.reserve("where %s sits is not entered (sits): taken to be outside of the old compressor; see that before it is carried over, for what sits inside leaves with it", strings.Join(names, ", "))
	}
}

// cutOuts are the pressures at which high-pressure switches of residential units open,
// pascal above the air's, by refrigerant: wide, from memory.
var cutOuts = map[string][2]float64{
	"R-22": {2.2e6, 3.2e6}, "R-407C": {2.2e6, 3.2e6}, "R-134A": {1.2e6, 2.3e6},
	"R-410A": {3.6e6, 4.8e6}, "R-32": {3.6e6, 4.9e6}, "R-454B": {3.6e6, 4.8e6},
}

// refrigerantRead asks about a refrigerant of no such unit, and reserves one of which
// nothing is known here.
func (j *judge) refrigerantRead() {
	name := j.now.Unit.Refrigerant
	switch _, known := cutOuts[strings.ToUpper(name)]; {
	case name == "" || known:
	case strings.HasPrefix(name, "R-7"): // the inorganic ones: ammonia, water, carbon dioxide
		j.doubt("the unit's refrigerant is entered as %s, which no unit of this kind has: read its plate again", name)
	default:
		j.reserve("the refrigerant is entered as %s, of which nothing is known here: see on the plate that it is so, and what its class asks for", name)
	}
}

// lowCutOut is between which pressures a low-pressure switch opens, pascal above the
// air's; wide, from memory (above the upper one an R-410A coil is not yet at freezing).
var lowCutOut = [2]float64{14e3, 8e5}

// cutOut holds what a high-pressure switch opens at against the refrigerant.
func (j *judge) cutOut(d *netlist.Device) {
	at := d.P("opens-at")
	if d.Kind == "pressure-low" && at > 0 && j.landed(d) && (at < lowCutOut[0] || at > lowCutOut[1]) {
		j.doubt("%s opens at %.3g psig; low-pressure switches open between %.2g and %.3g psig, whatever the refrigerant (from memory, wide): read it again; the new compressor's instructions say what it is to be", label(j.now, d.ID), at/6894.757, lowCutOut[0]/6894.757, lowCutOut[1]/6894.757)
	}
	if !strings.HasPrefix(d.Kind, "pressure-high") || !(at > 0) || !j.landed(d) {
		return
	}
	psi := func(pa float64) string { return fmt.Sprintf("%.0f psig", pa/6894.757) }
	band, ok := cutOuts[strings.ToUpper(j.now.Unit.Refrigerant)]
	switch {
	case j.now.Unit.Refrigerant == "":
		j.doubt("%s opens at %s, and the unit's refrigerant is not entered: read it on the unit's plate and enter it (refrigerant)", label(j.now, d.ID), psi(at))
	case ok && (at < band[0] || at > band[1]):
		j.doubt("%s opens at %s; with %s such switches open between %s and %s (from memory, wide): is it one for this refrigerant? Read it again; the new compressor's instructions say what it is to be", label(j.now, d.ID), psi(at), j.now.Unit.Refrigerant, psi(band[0]), psi(band[1]))
	}
}

// fuseVolts holds what a fuse may part against the line voltage of its circuit.
func (j *judge) fuseVolts(d *netlist.Device) {
	if d.Kind != "fuse" {
		return
	}
	most := 0.0
	for i := range j.now.Sources {
		src := &j.now.Sources[i]
		a, b, _, _ := src.Nodes()
		for _, end := range []string{d.ID + ".1", d.ID + ".2"} {
			n, ok := j.now.Node(end)
			if ok && !src.Coupled() && src.Class == netlist.Line && (!j.now.Grounded(a) && j.throughParts().same(n, a) || !j.now.Grounded(b) && j.throughParts().same(n, b)) {
				most = max(most, j.now.Unit.Device(src.Device).P("volts"))
			}
		}
	}
	switch v := d.P("volts"); {
	case most == 0:
	case v == 0:
		j.doubt("%s lies in a circuit of %.0f V, and the voltage marked on it is not entered: read it (volts); a fuse marked for less does not part that voltage", label(j.now, d.ID), most)
	case v < most:
		j.fail("contacts", Fails, "", fmt.Sprintf("%s is marked %.0f V and lies in a circuit of %.0f V", label(j.now, d.ID), v, most), nil)
	}
}
