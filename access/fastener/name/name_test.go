package name

import (
	"encoding/csv"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"

	"stepscan/access/fastener/table"
)

// said is a statement in one line: kind, head, standard, size, length.
func said(s Statement) string {
	return fmt.Sprintf("%s|%s|%s|%s|%.4g", s.Kind(), s.Head, s.Standard, s.Size, s.Length)
}

// Designations as they stand in file names and libraries of parts; what each
// means is what the standard is about.
func TestDesignations(t *testing.T) {
	for name, want := range map[string]string{
		"ISO 4762 - M4 x 12":  "screw|cylindrical|ISO 4762|M4|12",
		"ISO 4762 M4×12":      "screw|cylindrical|ISO 4762|M4|12",
		"DIN912-M4x12":        "screw|cylindrical|DIN 912|M4|12",
		"DIN_912_M4X12":       "screw|cylindrical|DIN 912|M4|12",
		"din912m4x12":         "screw|cylindrical|DIN 912|M4|12",
		"ISO4762_M4X12_A2-70": "screw|cylindrical|ISO 4762|M4|12",
		"ISO4762M4x12":        "screw|cylindrical|ISO 4762|M4|12",
		"Hexagon socket head cap screw ISO 4762-M4x12-8.8": "screw|cylindrical|ISO 4762|M4|12",
		"Socket Head Cap Screw ISO 4762 - M4 x 12 --- 12N": "screw|cylindrical|ISO 4762|M4|12",
		"DIN EN ISO 4762 M2,5x8":                           "screw|cylindrical|ISO 4762|M2.5|8",
		"DIN EN ISO 7046-2 H M2x5 - 8.8 - H1":              "screw|countersunk|ISO 7046-2|M2|5",
		"UNI EN ISO 4762 M4 x 12":                          "screw|cylindrical|ISO 4762|M4|12",
		"NF EN ISO 4762 M4x12":                             "screw|cylindrical|ISO 4762|M4|12",
		"NF E 25-125 M4x12":                                "screw|cylindrical|NF E 25-125|M4|12",
		"UNI 5931 M4x12":                                   "screw|cylindrical|UNI 5931|M4|12",
		"GB/T 70.1-2000 M4x12":                             "screw|cylindrical|GB/T 70.1|M4|12",
		"GB70.1-M4*12":                                     "screw|cylindrical|GB/T 70.1|M4|12",
		"GBT70.1_M4x12":                                    "screw|cylindrical|GB/T 70.1|M4|12",
		"内六角圆柱头螺钉GB/T70.1 M4×12":                           "screw|cylindrical|GB/T 70.1|M4|12",
		"JIS B 1176 M4x12":                                 "screw|cylindrical|JIS B 1176|M4|12",
		"JISB1176-M4x12":                                   "screw|cylindrical|JIS B 1176|M4|12",
		"ГОСТ 11738-84 М4":                                 "screw|cylindrical|ГОСТ 11738|M4|0",
		"Винт М4х12 ГОСТ 11738-84":                         "screw|cylindrical|ГОСТ 11738|M4|12",
		"ISO 4762:2004 M4x12":                              "screw|cylindrical|ISO 4762|M4|12",
		"ＩＳＯ　４７６２　Ｍ４ｘ１２":                                   "screw|cylindrical|ISO 4762|M4|12",
		"ASME B18.3 1/4-20 x 0.75":                         "screw||ASME B18.3|1/4-20|19.05",
		"ASME_B18.3_#8-32x1/2":                             "screw||ASME B18.3|#8-32|12.7",
		"ANSI B18.3 - No. 8 - 32 UNC x 1/2":                "screw||ASME B18.3||0",
		"Socket head cap screw 1/4-20 UNC x 1-1/4":         "screw|cylindrical||1/4-20|31.75",
		"SHCS 10-32 X .5":                                  "screw|cylindrical||#10-32|12.7",
		"hex bolt 3/8-16 x 1 1/4\"":                        "bolt|hexagon||3/8-16|31.75",
		"ISO 7380-1 M3x6":                                  "screw|button|ISO 7380-1|M3|6",
		"ISO7380-M3x6":                                     "screw|button|ISO 7380|M3|6",
		"ISO 7380-M10x30":                                  "screw|button|ISO 7380|M10|30",
		"DIN 933 M10x1.25x40":                              "screw|hexagon|DIN 933|M10|40",
		"DIN 961 M10 x 1 x 40":                             "screw|hexagon|DIN 961|M10|40",
		"ISO 4026 M3x3":                                    "set screw||ISO 4026|M3|3",
		"ISO 4032 - M5 - 8":                                "nut||ISO 4032|M5|0",
		"mutter_din934_m10-6":                              "nut||DIN 934|M10|0",
		"unterlegscheibe_iso_7089-10-140_hv":               "washer||ISO 7089|M10|0",
		"ISO 7089 - 10 - 200 HV":                           "washer||ISO 7089|M10|0",
		"DIN 125 - A 4,3":                                  "washer||DIN 125|M4|0",
		"DIN 125-A8.4":                                     "washer||DIN 125|M8|0",
		"Scheibe DIN 125 M8":                               "washer||DIN 125|M8|0",
		"DIN 9021 M5":                                      "washer||DIN 9021|M5|0",
		"ISO 2338 - 6 m6 x 30":                             "pin||ISO 2338||30",
		"DIN 7 - 4x20":                                     "pin||DIN 7||20",
		"DIN 1481 - 3 x 16":                                "pin||DIN 1481||16",
		"DIN 471 - 20x1.2":                                 "ring||DIN 471||0",
		"ISO 7049 - ST4.2 x 13 - C - H":                    "screw|pan|ISO 7049|ST4.2|13",
		"DIN 7981 4,2x13":                                  "screw|pan|DIN 7981|ST4.2|13",
		"DIN 7337 3.2x8":                                   "rivet||DIN 7337||8",
		"02_05_00-cylinder_screw_M10x30-DIN912":            "screw|cylindrical|DIN 912|M10|30",
		"ScrewM4x12":                                       "screw|||M4|12",
		"M8x30-Screw":                                      "screw|||M8|30",
		"Vis_CHC_M3x50_Inox_A4":                            "screw|cylindrical||M3|50",
		"Zylinderschraube M4 L=20":                         "screw|cylindrical||M4|20",
		"screw M4 and M5":                                  "screw||||0",
		"Blindniet 3,2x8":                                  "rivet||||8",
		"Vite TCEI M4x12":                                  "screw|cylindrical||M4|12",
		"M4 x 12 cylinder":                                 "||||0",
		"ISO 9001 M4 cover":                                "||||0",
		"DIN 912 M4 hole":                                  "||||0",
		"Bohrung für ISO 4762 M4":                          "||||0",
		"ISO 476212":                                       "||||0",
		"Zylinderschraube mit Innensechskant DIN EN ISO 4762 M4x12 8.8": "screw|cylindrical|ISO 4762|M4|12",
		"Unterlegscheibe für ISO 4762 M4":                               "washer|||M4|0",
		"B18.3.1M - 4 x 0.7 x 12 Hex SHCS -- 12NHX":                     "screw|cylindrical|ASME B18.3.1M|M4|12",
		"B18.2.4.1M - Hex nut, Style 1,  M4 x 0.7 --D-N":                "nut||ASME B18.2.4.1M|M4|0",
		"Verschlussschraube G1/4":                                       "screw||||0",
		"TCEI M4x12":                                                    "screw|cylindrical||M4|12",
	} {
		if got := said(Read(name)); got != want {
			t.Errorf("%q: %s, want %s", name, got, want)
		}
	}
}

// The number after a pin's or rivet's standard is its diameter.
func TestDiameters(t *testing.T) {
	for name, want := range map[string]float64{
		"ISO 2338 - 6 m6 x 30": 6, "DIN 7 - 4x20": 4, "DIN 471 - 20x1.2": 20, "DIN 472-26": 26, "Zylinderstift Ø3x12": 3, "dowel pin 2.5 x 10": 2.5,
		"ISO 4762 M4x12": 4, "#8-32 screw": 4.1656, "pin 20 x 3": 0,
	} {
		if s := Read(name); s.Diameter != want {
			t.Errorf("%q: %g mm, want %g", name, s.Diameter, want)
		}
	}
}

// Words of the trade in the spellings that names have.
func TestWords(t *testing.T) {
	for want, names := range map[string][]string{
		"screw": {
			"screw", "Screws", "SCREW_2", "HexScrewM4", "countersunk screw M3", "Schraube", "Senkschrauben", "Linsen-Schraube", "Linsenschraube12",
			"vis", "Vis CHC", "VIS_2", "vis à tête fraisée", "vite", "Viti M3", "tornillo", "TORNILLOS", "螺钉", "内六角螺钉M4", "自攻螺丝", "十字盘头螺钉_2", "housing screw 1", "ねじ",
			"ネジ", "ﾈｼﾞ", "なべ小ネジ M3", "皿ねじ", "Screw, cap, socket head", "cap screw", "vis pour bois", "vite con rondella", "Винт", "thumb screw",
		},
		"set screw": {"set screw", "SetScrew M3", "grub-screw", "Gewindestift", "Gewindestifte", "Madenschraube", "紧定螺钉", "止めねじ", "イモネジ", "vis sans tête", "grano filettato"},
		"bolt":      {"bolt", "HexBolt", "cover bolt", "BOLTS-1", "boulon", "bulloni", "bullone", "perno", "螺栓", "六角ボルト", "болт"},
		"nut": {
			"nut", "Hex Nuts", "HexNut2", "lock nut", "Mutter", "Sechskantmuttern", "SECHSKANT-MUTTER", "écrou", "ECROU", "e\u0301crous", "dado", "dadi", "tuerca",
			"螺母", "六角螺母M3", "ナット", "ﾅｯﾄ", "六角ナット", "Гайка", "Ｎｕｔ",
		},
		"washer": {
			"washer", "WASHER_M3", "spring washer", "Unterlegscheibe", "Fächerscheibe", "Faecherscheibe", "Facherscheibe", "Federring", "U-Scheibe", "rondelle",
			"Pce_Rondelle_M3", "rosetta", "rondella", "arandelas", "垫圈", "平垫", "弹簧垫圈", "座金", "平座金", "ワッシャー", "ﾜｯｼｬ", "washer for screw M4", "rondelle pour vis",
		},
		"pin":       {"dowel", "Dowel pin", "pin", "Zylinderstift", "Paßstift", "Passstifte", "Spannhülse", "Spannhuelse", "goupille", "spina", "pasador", "销", "圆柱销", "平行ピン", "Bolzen"},
		"rivet":     {"rivet", "Blind Rivets", "Blindniet", "Nieten", "rivetti", "remache", "铆钉", "リベット", "Заклёпка"},
		"stud":      {"stud", "threaded rod", "Stiftschraube", "Gewindestange M8", "goujons", "prigioniero", "espárrago", "双头螺柱", "植込みボルト"},
		"ring":      {"circlip", "Circlips", "retaining ring", "E-Ring", "Sicherungsring", "Sprengring", "anneau élastique", "anello elastico", "卡簧", "止め輪", "Eリング"},
		"insert":    {"threaded insert", "heat-set insert M3", "rivet nut", "Einpressmutter", "Gewindeeinsatz", "inserto filettato", "热熔螺母", "インサートナット"},
		"stand-off": {"standoff", "Stand-off M3", "Distanzbolzen", "screw standoff", "Abstandsbolzen", "铜柱"},
		"cable tie": {"cable tie", "zip-tie", "Kabelbinder", "fascetta", "扎带", "結束バンド"},
		"clip":      {"clip", "Halteklammer"},
	} {
		for _, n := range names {
			if s := Read(n); s.Kind() != want {
				t.Errorf("%q says %q, want %q", n, s.Kinds, want)
			}
		}
	}
}

// Names that have a word of the trade in them and are something else, and names
// that only begin or end like one.
func TestNamesThatLie(t *testing.T) {
	for _, n := range []string{
		"bolt cover", "BoltCover_2", "screw boss", "Screw M4 boss", "nut driver", "screwdriver", "screw hole", "Mutterplatte", "Mutter-Platte", "Schraubendeckel",
		"Schrauben-Abdeckung", "Schraubenabdeckung", "Schraubendreher", "tapa de tornillo", "tapa tornillo", "support de vis", "cache vis", "coperchio della vite", "螺钉盖", "螺丝刀",
		"螺母座", "螺钉 盖板", "ボルトカバー", "ナットホルダー", "ねじ穴", "pinion", "Spinat", "pin header 2x5", "PinHeader_1x04_P2.00mm", "coconut", "donut", "dishwasher", "lead screw", "vis sans fin",
		"vite senza fine", "Kontaktstift", "cover for screw M4", "plate with nuts", "Platte mit Mutter", "bearing nut", "Vista", "Visier", "Vitesse", "Mutterstolz", "entretoise vis",
		"adnuts", "boltzmann", "rivetage", "screwing", "", " ", "M4", "4762", "part-18892", "Body3", "Axis", "head of screw", "Duct", "Schraubstock", "Pinsel", "cordata", "bolt circle", "B18", "rib18.3M", "nutation", "Mutterleib",
	} {
		if s := Read(n); s.Says() {
			t.Errorf("%q says %q by %q", n, s.Kinds, s.Word)
		}
	}
}

// Words that are common outside the trade are told apart.
func TestWeakWords(t *testing.T) {
	for n, weak := range map[string]bool{"pin": true, "clip": true, "Scheibe": true, "perno": true, "insert": true, "screw": false, "Scheibe DIN 125": false, "dowel pin": false} {
		if s := Read(n); !s.Says() || s.Weak != weak {
			t.Errorf("%q: %q, weak %v", n, s.Kinds, s.Weak)
		}
	}
}

// What the reference list knows by name, batteries, boards, motors and so on,
// is no fastener's name: every word of every row.
func TestReferenceNamesAreNoFasteners(t *testing.T) {
	shared := os.Getenv("STEPSCAN_SHARED")
	if shared == "" {
		t.Skip("STEPSCAN_SHARED is not set: it names the folder with reference data")
	}
	f, err := os.Open(filepath.Join(shared, "reference", "name_patterns.csv"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	words := 0
	for _, row := range all[1:] {
		for _, w := range strings.Split(row[2], "|") {
			w = strings.NewReplacer("?", "", ".*", "", `\d`, "1").Replace(w)
			for _, n := range []string{w, strings.ToUpper(w), w + "_M3", w + " 2"} {
				if s := Read(n); s.Says() {
					t.Errorf("%q (%s, %s) says %q by %q", n, row[0], row[1], s.Kinds, s.Word)
				}
				words++
			}
		}
	}
	if words < 1000 {
		t.Errorf("%d words in the list", words)
	}
}

// Every row of every table that we have measures of is known by its name, in
// any of the spellings.
func TestTablesAreKnown(t *testing.T) {
	check := func(std, kind, size string) {
		std, _, _ = strings.Cut(std, " / ")
		if f := strings.Fields(std); len(f) > 2 { // "ASME B18.3 button"
			std = strings.Join(f[:2], " ")
		}
		std = strings.TrimSuffix(std, "-B") // DIN 127-B
		for _, n := range []string{
			std + " " + size + " x 10", strings.ReplaceAll(std, " ", "") + "-" + size + "x10", strings.ReplaceAll(std, " ", "_") + "_" + size + "X10",
			"part " + strings.ToLower(std) + " " + size,
		} {
			s := Read(n)
			if !slices.Contains(s.Kinds, kind) || s.Size != size {
				t.Errorf("%q: %q %q, want %q %q", n, s.Kinds, s.Size, kind, size)
			}
		}
	}
	for _, h := range table.Heads() {
		s := standards()[h.Standard]
		kind := "screw"
		switch {
		case s.kind != "":
			kind = s.kind
		case strings.HasPrefix(h.Standard, "ASME B18.2.1"):
			kind = "bolt"
		}
		if s.head != "" && s.head != h.Head {
			t.Errorf("%s: head %q, the table has %q", h.Standard, s.head, h.Head)
		}
		if s.drive != "" && s.drive != h.Drive {
			t.Errorf("%s: drive %q, the table has %q", h.Standard, s.drive, h.Drive)
		}
		if h.Standard != "standard" {
			check(h.Standard, kind, h.Size)
		}
	}
	for _, n := range table.Nuts() {
		check(n.Standard, "nut", n.Size)
	}
	for _, w := range table.Washers() {
		check(w.Standard, "washer", w.Size)
	}
}

// Standards that are said to have the measures of another one name one that is
// in the list itself, of the same kind, head and drive.
func TestEquivalents(t *testing.T) {
	for _, s := range standards() {
		if s.as == "" || s.as == "DIN 127-B" {
			continue
		}
		o, ok := standards()[s.as]
		if !ok || o.kind != s.kind || o.head != s.head || o.drive != s.drive {
			t.Errorf("%s has the measures of %s, which is %+v", s.name, s.as, o)
		}
	}
}

// A name means the same composed or not, and in full width.
func TestSpellingChangesNothing(t *testing.T) {
	var all []string
	for _, row := range rows("words.csv") {
		for _, w := range strings.Split(row[3], "|") {
			all = append(all, strings.TrimPrefix(forms(w)[0], "~"))
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.SampledFrom(all).Draw(t, "word") + rapid.SampledFrom([]string{"", " M4x12", "_3", " cover"}).Draw(t, "rest")
		want := Read(n)
		for what, as := range map[string]string{"decomposed": norm.NFD.String(n), "composed": norm.NFC.String(n), "wide": wide(n), "spaces": "  " + n + " "} {
			if got := Read(as); said(got) != said(want) || got.Word != want.Word {
				t.Fatalf("%q %s: %s, want %s", n, what, said(got), said(want))
			}
		}
	})
}

// wide turns ASCII into its full-width forms.
func wide(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == ' ':
			return '\u3000'
		case r > ' ' && r < 0x7f:
			return r - 0x21 + 0xff01
		}
		return r
	}, s)
}

// No name breaks the reader, and what it states is finite and not negative.
func FuzzRead(f *testing.F) {
	for _, s := range []string{"ISO 4762 - M4 x 12", "ASME B18.3 1/4-20 x 0.75", "\xff\xfeM4", "DIN 125 - A 4,3", "1/0-20 screw 1/0", "螺钉", "ISO 7089-", "Ø", "pin Øx", "STscrew"} {
		f.Add(s)
	}
	size := regexp.MustCompile(`^(|M[\d.]+|#\d+(-\d+)?|\d+/\d+(-\d+)?|ST[\d.]+)$`)
	f.Fuzz(func(t *testing.T, name string) {
		s := Read(name)
		if !size.MatchString(s.Size) || !(s.Length >= 0) || !(s.Diameter >= 0) || s.Length > 1e13 {
			t.Fatalf("%q: %+v", name, s)
		}
	})
}

func BenchmarkRead(b *testing.B) {
	names := []string{"Hexagon socket head cap screw ISO 4762-M4x12-8.8", "GFW30_LCD_HINGE_SUP_BRK_L2", "R_0603_1608Metric", "内六角圆柱头螺钉 M4×12"}
	for b.Loop() {
		for _, n := range names {
			Read(n)
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(names)), "ns/name")
}
