package record

import "retrostage/assets"

// DemoFile is the name of the demo job's file.
const DemoFile = "demo-four-ton.job.json"

// SecondFile is the file of a second invented job: an older and smaller unit, other
// numbers throughout, decided otherwise.
const SecondFile = "demo-two-and-a-half-ton.job.json"

// Demo returns the invented job that comes with the program.
func Demo() (*Job, error) { return invented(DemoFile) }

// SecondDemo returns the second one.
func SecondDemo() (*Job, error) { return invented(SecondFile) }

func invented(file string) (*Job, error) {
	b, err := assets.FS.ReadFile("demo/" + file)
	if err != nil {
		return nil, err
	}
	return Decode(b)
}
