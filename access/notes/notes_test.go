package notes

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const good = `# a comment
format: stepscan.notes/1
parts:
  - name: light pipe
    fastener: {kind: none}
  - name: "X: 45"
    fastener:
      kind: set screw
      size: M4
      drive_size: "2.50"
  - name: 座金
joints:
  - {part: label, on: base, by: glue, release: "80 °C"}
`

func TestRead(t *testing.T) {
	n, err := Read("n.yaml", []byte(good))
	if err != nil {
		t.Fatal(err)
	}
	if len(n.Parts) != 3 || len(n.Joints) != 1 {
		t.Fatalf("%+v", n)
	}
	if p := n.Parts[1]; p.Name != (Word{"X: 45", 6}) || p.Fastener.Kind != (Word{"set screw", 8}) || p.Fastener.DriveSize.Text != "2.50" || p.Fastener.Drive.Line != 0 {
		t.Errorf("%+v", p)
	}
	if n.Parts[2].Name.Text != "座金" || n.Parts[2].Fastener != nil {
		t.Errorf("%+v", n.Parts[2])
	}
	if j := n.Joints[0]; j.Part.Text != "label" || j.On.Text != "base" || j.By.Text != "glue" || j.Release.Text != "80 °C" || j.By.Line != 13 {
		t.Errorf("%+v", j)
	}
}

// The example that users read is a notes file.
func TestExampleOfTheReadme(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	var example []string
	for _, line := range strings.Split(string(text), "\n") {
		if line, ok := strings.CutPrefix(line, "    "); ok && (len(example) > 0 || strings.HasPrefix(line, "format: ")) {
			example = append(example, line)
		} else if len(example) > 0 {
			break
		}
	}
	n, err := Read("README.md", []byte(strings.Join(example, "\n")))
	if err != nil || len(n.Parts) != 2 || len(n.Joints) != 2 {
		t.Errorf("%v, %+v", err, n)
	}
}

// Each mistake is one error with its line, what was wanted and the nearest word.
func TestMistakes(t *testing.T) {
	for _, c := range []struct{ from, to, want string }{
		{"stepscan.notes/1", "stepscan.notes/9", `n.yaml:2: format "stepscan.notes/9": want "stepscan.notes/1"`},
		{"kind: none", "kind: screv", `n.yaml:5: kind "screv": want one of none, screw, bolt`},
		{"kind: none", "kind: screv", `; did you mean "screw"?`},
		{"kind: none", "knid: none", `n.yaml:5: the key "knid" is not known here; did you mean "kind"?`},
		{"by: glue", "by: gleu", `n.yaml:13: by "gleu": want one of glue, snap`},
		{"by: glue, ", "", `n.yaml:0: by ""`},
		{"part: label, ", "", `n.yaml:13: the joint in place 1 of the list has to say "part" and "on"`},
		{"size: M4", "size: [M4]", "line 9: a single value is wanted here"},
		{"size: M4", "size: M4\n      size: M5", "n.yaml:10: "},
		{"- name: 座金", "- fastener: {kind: nut}", "the part in place 3 of the list has no name"},
		{"parts:", "parts: [", "n.yaml:"},
		{"drive_size", "drive: torque\n      drive_size", `n.yaml:10: drive "torque"`},
	} {
		_, err := Read("n.yaml", []byte(strings.Replace(good, c.from, c.to, 1)))
		var e *Error
		if !errors.As(err, &e) {
			t.Errorf("%q for %q: %v, want an *Error", c.to, c.from, err)
			continue
		}
		want := strings.Replace(c.want, "n.yaml:0:", "n.yaml:", 1)
		if !strings.Contains(err.Error(), want) {
			t.Errorf("%q for %q: %v, want %s", c.to, c.from, err, c.want)
		}
	}
}

func TestMeant(t *testing.T) {
	for text, want := range map[string]string{"ligth pipe": "light pipe", "bse": "base", "zzz": "", "": ""} {
		got := Meant(text, []string{"light pipe", "base"})
		if (want == "") != (got == "") || !strings.Contains(got, want) {
			t.Errorf("%q: %q, want %q", text, got, want)
		}
	}
	// Worked example: three letters from "kitten" to "sitting" (Levenshtein 1966
	// gives the measure; the example is common).
	if d := distance("kitten", "sitting"); d != 3 {
		t.Errorf("%d, want 3", d)
	}
}

func FuzzRead(f *testing.F) {
	f.Add([]byte(good))
	f.Add([]byte("format: &a stepscan.notes/1\nparts: [{name: *a}]"))
	f.Add([]byte("a: &a [x,x]\nb: &b [*a,*a]\nc: [*b,*b]"))
	f.Fuzz(func(t *testing.T, text []byte) {
		if len(text) > 1<<16 {
			return
		}
		n, err := Read("n.yaml", text)
		if err == nil && n.Format.Text != Format {
			t.Errorf("no error and %+v", n)
		}
		var e *Error
		if err != nil && !errors.As(err, &e) {
			t.Errorf("%v is no *Error", err)
		}
	})
}
