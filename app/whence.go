package app

import (
	"retrostage/app/theme"
	"retrostage/app/widget"
)

// whence is a line that says, once touched, where the numbers above it come from.
func (p *pane) whence(line, from string) *widget.Notice {
	n := widget.NewNotice("unjudged", theme.Muted, []string{line}, []string{from})
	n.OnResize = p.reflow
	return n
}
