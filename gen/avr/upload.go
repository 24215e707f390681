package avr

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os/exec"
	"strconv"

	"propwright/model/board"
)

// FindUploader looks for avrdude. The error says how to get it.
func FindUploader() (avrdude string, err error) {
	avrdude, err = exec.LookPath("avrdude")
	if errors.Is(err, exec.ErrNotFound) {
		err = fmt.Errorf("avrdude not found; %s", Install("the package avrdude", "avrdude: the tools of the Arduino core hold it, and its folder belongs on the PATH"))
	}
	return avrdude, err
}

// Upload writes a linked sketch into a board's flash through its boot loader,
// which listens on the port, and reads it back. What avrdude says of how far it
// has come goes to progress.
func Upload(ctx context.Context, avrdude string, b *board.Board, elf, port string, progress io.Writer) error {
	cmd := exec.CommandContext(ctx, avrdude,
		"-p", b.MCU, "-c", b.Upload.Programmer, "-P", port, "-b", strconv.Itoa(b.Upload.Baud),
		"-D", // a boot loader erases page by page
		"-U", "flash:w:"+elf+":e")
	cmd.Stdout, cmd.Stderr = progress, progress
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("avrdude did not finish (%w). Where nothing has answered: is this the board's port, and does nothing else use it? Where it had begun to write, the board holds half a sketch: upload again before you use it", err)
	}
	return nil
}
