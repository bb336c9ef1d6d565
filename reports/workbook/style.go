package workbook

import (
	"github.com/xuri/excelize/v2"
)

// The palette: dark ink on white, three pale grounds for verdicts. No meaning
// hangs on them alone.
const (
	ink      = "1F2933"
	muted    = "52606D"
	rule     = "CBD2D9"
	accent   = "1D4E5F"
	headFill = "E4E9ED"
	fillIn   = "FFF8DC"
	paleOK   = "DDEFE8"
	paleOut  = "FADCD3"
	paleNear = "FFF0C2"
	bandFill = "CFE3DA"
	fontName = "Arial"
)

// look is how a cell appears; num is its number format, "" for text.
type look struct {
	kind lookKind
	num  string
}

type lookKind uint8

const (
	plain    lookKind = iota // text, locked
	wrapped                  // text over several lines
	title                    // name of the sheet
	note                     // muted small text
	section                  // heading of a block
	head                     // column heading
	label                    // row heading
	unit                     // what stands beside a number
	figure                   // number, right
	faint                    // number that supports another
	verdict                  // verdict word
	shape                    // verdict shape
	bar                      // one cell of a strip
	fill                     // to be filled in by hand, unlocked
	fillDate                 // the same for a date
	warn                     // demonstration or problem banner
	big                      // figure on the label
	code                     // digests, keys
)

func side(kind, color string, style int) excelize.Border {
	return excelize.Border{Type: kind, Color: color, Style: style}
}

func box(color string, style int) []excelize.Border {
	return []excelize.Border{side("left", color, style), side("right", color, style), side("top", color, style), side("bottom", color, style)}
}

func solid(color string) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{color}}
}

// style spells out a look. Text cells have the text format, so that a cell
// edited by hand stays text.
func (l look) style() *excelize.Style {
	s := &excelize.Style{
		Font:       &excelize.Font{Family: fontName, Size: 10, Color: ink},
		Alignment:  &excelize.Alignment{Vertical: "center"},
		Border:     []excelize.Border{side("bottom", rule, 4)},
		Protection: &excelize.Protection{Locked: true},
	}
	text := "@"
	s.CustomNumFmt = &text
	if l.num != "" {
		n := l.num
		s.CustomNumFmt = &n
	}
	switch l.kind {
	case wrapped:
		s.Alignment = &excelize.Alignment{Vertical: "center", WrapText: true}
	case title:
		s.Font.Size, s.Font.Bold, s.Font.Color, s.Border = 16, true, accent, nil
	case note:
		s.Font.Size, s.Font.Color, s.Border = 9, muted, nil
		s.Alignment = &excelize.Alignment{Vertical: "top", WrapText: true}
	case section:
		s.Font.Size, s.Font.Bold, s.Font.Color = 12, true, accent
		s.Border = []excelize.Border{side("bottom", accent, 2)}
	case head:
		s.Font.Size, s.Font.Bold = 9, true
		s.Fill = solid(headFill)
		s.Alignment = &excelize.Alignment{Vertical: "center", WrapText: true}
		s.Border = []excelize.Border{side("bottom", accent, 1)}
		switch l.num { // over a column of numbers, or beside one
		case "0":
			s.Alignment.Horizontal = "right"
		case "@":
			s.Alignment.Horizontal, s.Alignment.Indent = "left", 1
		}
		s.CustomNumFmt = &text
	case label:
		s.Font.Color = muted
	case unit:
		s.Font.Color = muted
		s.Alignment.Indent, s.Alignment.Horizontal = 1, "left"
	case figure:
		s.Alignment.Horizontal = "right"
	case faint:
		s.Alignment.Horizontal = "right"
		s.Font.Size, s.Font.Color = 9, muted
	case verdict:
		s.Font.Bold = true
		s.Alignment.Indent, s.Alignment.Horizontal = 1, "left"
	case shape:
		s.Alignment.Horizontal = "center"
		s.Font.Size = 11
	case bar:
		s.Alignment.Horizontal = "center"
		s.Font.Size = 9
		s.Border = nil
	case fill, fillDate:
		s.Fill, s.Border = solid(fillIn), box(accent, 1)
		s.Alignment = &excelize.Alignment{Vertical: "center", WrapText: true, Horizontal: "left"}
		s.Protection = &excelize.Protection{Locked: false}
		s.Font.Size = 11
	case warn:
		s.Font.Bold = true
		s.Fill = solid(paleNear)
		s.Border = box(ink, 1)
		s.Alignment = &excelize.Alignment{Vertical: "center", WrapText: true}
	case big:
		s.Font.Size, s.Font.Bold = 14, true
		s.Border = box(ink, 1)
		s.Alignment = &excelize.Alignment{Vertical: "center", Horizontal: "left", WrapText: true}
	case code:
		s.Font.Family, s.Font.Size = "Courier New", 9
		s.Alignment = &excelize.Alignment{Vertical: "top", WrapText: true}
	}
	return s
}
