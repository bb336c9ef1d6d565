package app

import "retrostage/app/part"

// told is a sheet's one line about what it is doing or could not do.
type told struct {
	said   *part.Words
	scroll *part.Scroller // that holds it
}

func (t *told) say(tone part.Tone, text string) {
	t.said.Tone = tone
	t.said.Set(text)
	t.scroll.Reflow()
}
