package name

import "testing"

func TestUnfit(t *testing.T) {
	for _, s := range []string{
		"Gehäuse ß – „x“", "écrou à œillet", "крышка Ёё", "主板螺钉　一", "ねじ ネジ ﾈｼﾞ", "e\u0301", "👩\u200d🔧", "می\u200cخواهم", "שלום", "שלום\u200f (A)\u200e", "Rohr\u00adleitung", "a\u200bb", "\u0600\u0661", "⌀4×12", "\ufffd",
	} {
		for _, r := range s {
			if Unfit(r) {
				t.Errorf("%q: %U must be shown", s, r)
			}
		}
	}
	for _, r := range "\x00\t\n\r\x1b\x7f\u0085\u009b\u202a\u202b\u202c\u202d\u202e\u2028\u2029\u2066\u2067\u2068\u2069\ue000\ufdd0\ufffe\U0001ffff" {
		if !Unfit(r) {
			t.Errorf("%U must not be shown", r)
		}
	}
}
