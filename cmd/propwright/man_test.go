package main

import (
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra/doc"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

var manFolder = flag.String("man", "", "a `DIR` that the man pages are left in")

// table is a line that help indents for the eye. Markdown, which doc reads, takes
// four columns more for one to be kept as it is.
var table = regexp.MustCompile(`(?m)^  (\S|   +)`)

// manPages writes a man page for every command. cobra's doc package is not in
// the command for that: .ci/binaries makes the pages by this test, dated by the
// commit.
func manPages(t *testing.T, dir, date string) {
	day, err := time.Parse(time.DateOnly, date)
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(dir, 0o777))
	root := rootCommand()
	root.DisableAutoGenTag = true // it has today's date
	root.InitDefaultHelpCmd()
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		c.Long = table.ReplaceAllString(c.Long, "    $0")
	}
	require.NoError(t, doc.GenManTree(root, &doc.GenManHeader{Section: "1", Date: &day, Source: "propwright", Manual: "propwright"}, dir))
}

// Each command has a page, which groff sets without a warning, as man has it do.
func TestManPages(t *testing.T) {
	commit, err := exec.Command("git", "log", "-1", "--format=%cs").Output()
	date := string(commit[:max(len(commit)-1, 0)])
	if err != nil { // not in a clone
		require.Empty(t, *manFolder, "%v", err)
		date = "2026-01-01"
	}
	dir := *manFolder
	if dir == "" {
		dir = t.TempDir()
	}
	manPages(t, dir, date)

	pages, err := filepath.Glob(filepath.Join(dir, "*.1"))
	require.NoError(t, err)
	assert.Greater(t, len(pages), len(commands))
	for _, c := range rootCommand().Commands() {
		if c.IsAvailableCommand() {
			assert.FileExists(t, filepath.Join(dir, "propwright-"+c.Name()+".1"))
		}
	}
	if _, err := exec.LookPath("groff"); err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("groff is missing; testdata/setup installs it")
		}
		t.Skip("groff is missing; testdata/setup installs it")
	}
	show := exec.Command("groff", append([]string{"-ww", "-K", "utf8", "-T", "utf8", "-P-cbu", "-t", "-man"}, pages...)...)
	var text, warnings strings.Builder
	show.Stdout, show.Stderr = &text, &warnings
	require.NoError(t, show.Run(), warnings.String())
	assert.Empty(t, warnings.String())
	assert.Equal(t, len(pages), strings.Count(text.String(), "SYNOPSIS"))
}
