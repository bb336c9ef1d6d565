package section

import (
	"retrostage/app/theme"
	"retrostage/app/widget"
)

// provenance is a line that says, once touched, where the numbers above it come
// from.
func (p *Pane) provenance(line, from string) *widget.Notice {
	n := widget.NewNotice("unjudged", theme.Muted, []string{line}, []string{from})
	n.OnResize = p.reflow
	return n
}
