package app

import "testing"

func TestFiguresFollowTheirDoubt(t *testing.T) {
	for _, c := range []struct {
		v, doubt float64
		want     string
	}{
		{11.4321, 1.34, "11.4"}, {11.4321, 0.5, "11.4"}, {11.4321, 0.034, "11.43"}, {3412.7, 61, "3413"},
		{43.14, 2.2, "43.1"}, {-0.004, 0.2, "0.00"}, {20, 0, "20"}, {24.6912, 0, "24.69"}, {0, 0, "0"}, {5250, 0, "5250"}, {0.1234567, 0, "0.123"},
	} {
		if got := figure(c.v, c.doubt); got != c.want {
			t.Errorf("figure(%g, %g) = %q, want %q", c.v, c.doubt, got, c.want)
		}
	}
}

func TestChancesClaimNoMoreThanTheyKnow(t *testing.T) {
	for p, want := range map[float64]string{0: "< 1 %", 0.004: "< 1 %", 0.126: "13 %", 0.97: "97 %", 0.9999: "> 99 %"} {
		if got := chance(p); got != want {
			t.Errorf("chance(%g) = %q, want %q", p, got, want)
		}
	}
}
