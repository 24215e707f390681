package store_test

import (
	"bufio"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"propwright/cmd/propwright/store"
	"propwright/model"
	"propwright/model/designs"
	"propwright/model/edit"

	"github.com/stretchr/testify/require"
)

// childFile names the design file that a child process edits until it is
// killed.
const childFile = "PROPWRIGHT_TEST_EDITS"

func TestMain(m *testing.M) {
	if file := os.Getenv(childFile); file != "" {
		if err := editForEver(file); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
	os.Exit(m.Run())
}

// editForEver does the scripted edits, from where the file or its journal is
// on, and says the number of each. Of forty, eight in a row are saved.
func editForEver(file string) error {
	r, err := store.Recover(file)
	if err != nil {
		return err
	}
	f, d, err := store.Open(file)
	if err != nil {
		return err
	}
	draft := edit.New(d)
	if r != nil {
		draft.Replace("recover", r.Design)
		f.Record(r.Design)
	}
	for n := number(draft.Design()) + 1; ; n++ {
		if err := scripted(draft, n); err != nil {
			return fmt.Errorf("edit %d: %w", n, err)
		}
		f.Record(draft.Design())
		fmt.Println(n)
		time.Sleep(time.Duration(1+n%4) * time.Millisecond)
		if n%40 < 8 {
			if err := f.Save(draft.Design()); err != nil {
				return err
			}
		}
		if err := f.Trouble(); err != nil {
			return err
		}
	}
}

// scripted does the n-th edit, which leaves n in the prop's note.
func scripted(f *edit.Draft, n int) error {
	return f.Together("edit", func() error {
		d := f.Design()
		if err := f.Set(model.Elem{Sort: model.SortProp}, "note", fmt.Sprintf("edit %d", n)); err != nil {
			return err
		}
		guest, there := d.Find(model.SortState, "guest")
		first := d.States[0].Name
		switch {
		case n%7 == 1 && !there:
			_, err := f.Add(model.Elem{Sort: model.SortState, Index: len(d.States)},
				edit.Key{Key: "name", Value: "guest"}, edit.Key{Key: "kind", Value: "ambient"})
			return err
		case n%7 == 5 && there:
			return f.Delete(guest)
		case there:
			on := model.Trigger{Kind: model.Press, Name: d.Remote.Buttons[n%len(d.Remote.Buttons)].Name}
			return f.Fill(model.From{State: "guest"}, on, edit.Outcome{To: first})
		}
		return nil
	})
}

func number(d *model.Design) int {
	n, err := strconv.Atoi(strings.TrimPrefix(d.Prop.Note, "edit "))
	if err != nil {
		return 0
	}
	return n
}

// A chain is one design file whose editor is killed again and again; each
// start takes what the journal offers.
type chain struct {
	file  string
	texts []string // by number of edits: what the design is then
	draft *edit.Draft

	kills, inSave int // inSave: kills that cut a save off
	edits         int
	worst         time.Duration
}

// text is the design after n edits, which a chain without kills would have.
func (c *chain) text(n int) (string, error) {
	for len(c.texts) <= n {
		if err := scripted(c.draft, len(c.texts)); err != nil {
			return "", err
		}
		c.texts = append(c.texts, string(c.draft.Design().Format()))
	}
	return c.texts[n], nil
}

type report struct {
	n  int
	at time.Time
}

// kill starts the editor, kills it some time after its first edit, or, with early,
// after its start, and looks at what is left.
func (c *chain) kill(life time.Duration, early bool) error {
	cmd := exec.Command(os.Args[0])
	tmp := filepath.Join(filepath.Dir(c.file), "tmp") // a save that is cut off may leave its file there
	if err := os.MkdirAll(tmp, 0o777); err != nil {
		return err
	}
	cmd.Env = append(os.Environ(), childFile+"="+c.file, "TMPDIR="+tmp)
	var stderr strings.Builder
	cmd.Stderr = &stderr
	out, err := cmd.StdoutPipe()
	if err != nil {
		return err
	}
	if err := cmd.Start(); err != nil {
		return err
	}
	reports := make(chan []report)
	edits := make(chan struct{}) // closed after the first one, or where none comes
	go func() {
		var all []report
		lines := bufio.NewScanner(out)
		going := lines.Scan()
		close(edits)
		for ; going; going = lines.Scan() {
			if n, err := strconv.Atoi(lines.Text()); err == nil {
				all = append(all, report{n, time.Now()})
			}
		}
		reports <- all
	}()
	if !early {
		<-edits
	}
	time.Sleep(life)
	killed := time.Now()
	cmd.Process.Kill()
	done := <-reports
	cmd.Wait()
	if stderr.Len() > 0 {
		return fmt.Errorf("the editor ended by itself: %s", stderr.String())
	}
	c.kills++
	return c.look(done, killed)
}

func (c *chain) look(done []report, killed time.Time) error {
	text, err := os.ReadFile(c.file)
	if err != nil {
		return err
	}
	saved, err := model.Read(c.file, text)
	if err != nil {
		return fmt.Errorf("the file is torn: %w", err)
	}
	if want, err := c.text(number(saved)); err != nil || string(text) != want {
		return fmt.Errorf("the file is not what edit %d made (%v)", number(saved), err)
	}
	have := number(saved)
	r, err := store.Recover(c.file)
	if err != nil {
		return err
	}
	if r != nil {
		if r.Moved {
			return fmt.Errorf("the journal's file is another")
		}
		if want, err := c.text(number(r.Design)); err != nil || string(r.Design.Format()) != want {
			return fmt.Errorf("the journal is not what edit %d made (%v)", number(r.Design), err)
		}
		if number(r.Design) <= have {
			return fmt.Errorf("the journal offers edit %d, and the file has %d", number(r.Design), have)
		}
		have = number(r.Design)
	}
	for _, d := range done {
		if d.n > have {
			c.worst = max(c.worst, killed.Sub(d.at))
			break
		}
	}
	c.edits += len(done)
	cut, err := os.ReadDir(filepath.Join(filepath.Dir(c.file), "tmp"))
	if err != nil {
		return err
	}
	c.inSave += len(cut)
	if err := os.RemoveAll(filepath.Join(filepath.Dir(c.file), "tmp")); err != nil {
		return err
	}
	entries, err := os.ReadDir(filepath.Dir(c.file))
	if err != nil {
		return err
	}
	for _, e := range entries {
		name := filepath.Join(filepath.Dir(c.file), e.Name())
		switch {
		case name == c.file || name == store.JournalName(c.file) || name == store.JournalName(c.file)+".new":
		case strings.HasPrefix(e.Name(), "."+filepath.Base(c.file)):
			c.inSave++
			if err := os.Remove(name); err != nil {
				return err
			}
		default:
			return fmt.Errorf("%s was left behind", name)
		}
	}
	return nil
}

var kills = flag.Int("kills", 50, "how often editors are killed")

// Killed at random moments: the file is whole every time, and no more than the last
// second of edits is lost. A kill costs most of a second, so there are few of them;
// -kills 200 does more.
func TestKilledAtRandomMoments(t *testing.T) {
	if testing.Short() {
		t.Skip("goes through many cases; the whole run does it")
	}
	const chains, most = 8, time.Second
	seed := uint64(time.Now().UnixNano())
	t.Logf("seed %d", seed)
	all := make([]*chain, chains)
	errs := make([]error, chains)
	var wg sync.WaitGroup
	for i := range all {
		d, err := model.Read("heron.prop.toml", designs.HarbourHeron)
		require.NoError(t, err)
		all[i] = &chain{file: filepath.Join(t.TempDir(), "heron.prop.toml"), texts: []string{string(d.Format())}, draft: edit.New(d)}
		require.NoError(t, d.Save(all[i].file))
		wg.Go(func() {
			random := rand.New(rand.NewPCG(seed, uint64(i)))
			for n := range *kills / chains {
				life := time.Duration(20+random.IntN(380)) * time.Millisecond
				if n%4 == 0 { // longer than what may be lost
					life += most + time.Duration(random.IntN(400))*time.Millisecond
				}
				if errs[i] = all[i].kill(life, n%8 == 1); errs[i] != nil {
					return
				}
			}
		})
	}
	wg.Wait()
	var sum chain
	for i, c := range all {
		require.NoError(t, errs[i], "chain %d after %d kills", i, c.kills)
		sum.kills += c.kills
		sum.edits += c.edits
		sum.inSave += c.inSave
		sum.worst = max(sum.worst, c.worst)
	}
	t.Logf("killed %d times in %d edits, %d of them in a save: 0 files torn, at most %d ms lost",
		sum.kills, sum.edits, sum.inSave, sum.worst.Milliseconds())
	require.Equal(t, *kills/chains*chains, sum.kills)
	require.LessOrEqual(t, sum.worst, most)
	require.Greater(t, sum.edits, *kills, "the editors hardly came to edit")
	require.Positive(t, sum.worst, "nothing was lost at all: the kills came too late to show anything")
}
