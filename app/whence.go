package app

import "retrostage/app/part"

// whence is a line that says, once touched, where the numbers above it come from.
func (p *pane) whence(line, from string) *part.Notice {
	n := part.NewNotice("unjudged", part.Muted, []string{line}, []string{from})
	n.OnResize = p.reflow
	return n
}
