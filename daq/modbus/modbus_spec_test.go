package modbus_test

import (
	"encoding/binary"
	"encoding/csv"
	"encoding/hex"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"holdbench/daq/modbus"
)

// table reads one of the published tables; each row by column name.
func table(t *testing.T, name string) []map[string]string {
	f, err := os.Open(filepath.Join("..", "..", "testdata", "modbus", name))
	require.NoError(t, err)
	defer func() { require.NoError(t, f.Close()) }()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	require.NoError(t, err)
	var out []map[string]string
	for _, row := range rows[1:] {
		m := map[string]string{}
		for i, column := range rows[0] {
			m[column] = row[i]
		}
		out = append(out, m)
	}
	require.NotEmpty(t, out)
	return out
}

func bytesOf(t *testing.T, text string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(text, " ", ""))
	require.NoError(t, err)
	return b
}

// V (02 07) and C: MODBUS over Serial Line V1.02, 6.2.2; see the table.
func TestCRCOfTheSpecification(t *testing.T) {
	for _, row := range table(t, "crc.csv") {
		want, err := strconv.ParseUint(row["crc_register_hex"], 16, 16)
		require.NoError(t, err)
		got := modbus.CRC(bytesOf(t, row["message_hex"]))
		assert.Equal(t, uint16(want), got, row["source"])
		sent := binary.LittleEndian.AppendUint16(nil, got)
		assert.Equal(t, bytesOf(t, row["sent_low_hex"]+row["sent_high_hex"]), sent, row["source"])
	}
}

// V and C: see the table. Every frame's check is right; requests and replies
// of functions 3 and 4 are written and read as printed.
func TestFramesOfTheSpecification(t *testing.T) {
	requests := map[string][]byte{} // the last one by address and function
	seen := map[string]int{}
	for _, row := range table(t, "rtu-frames.csv") {
		frame := bytesOf(t, row["frame_hex"])
		n := len(frame) - 2
		require.Equal(t, binary.LittleEndian.Uint16(frame[n:]), modbus.CRC(frame[:n]), row["frame_hex"])
		if row["function"] != "3" && row["function"] != "4" {
			continue
		}
		key := strconv.Itoa(int(frame[0])) + "/" + row["function"]
		seen[row["kind"]]++
		switch row["kind"] {
		case "request":
			requests[key] = frame
			r, err := modbus.ParseRequest(frame)
			require.NoError(t, err)
			assert.Equal(t, frame, r.Frame())
		case "response":
			r, err := modbus.ParseRequest(requests[key])
			require.NoError(t, err)
			registers, err := r.Parse(frame)
			require.NoError(t, err, row["frame_hex"])
			assert.Equal(t, frame, r.Reply(registers))
			assert.Len(t, frame, r.ReplyLength())
		case "exception":
			r, err := modbus.ParseRequest(requests[key])
			require.NoError(t, err)
			_, err = r.Parse(frame)
			var x modbus.Exception
			require.ErrorAs(t, err, &x)
			assert.ErrorContains(t, x, row["what"])
			assert.Equal(t, frame, r.Refusal(x))
		}
	}
	assert.Equal(t, map[string]int{"request": 3, "response": 4, "exception": 5}, seen)
}

// V: MODBUS Application Protocol V1.1b3, sections 6.3 and 6.4.
func TestPDUsOfTheSpecification(t *testing.T) {
	values := map[string][]uint16{"6.3": {555, 0, 100}, "6.4": {10}}
	checked := 0
	for _, row := range table(t, "pdu.csv") {
		want, ok := values[row["section"]]
		if !ok {
			continue
		}
		checked++
		pdu := bytesOf(t, row["request_pdu_hex"])
		r := modbus.Request{Address: 5, Function: pdu[0],
			Start: binary.BigEndian.Uint16(pdu[1:]), Count: binary.BigEndian.Uint16(pdu[3:])}
		frame := r.Frame()
		assert.Equal(t, pdu, frame[1:len(frame)-2], row["what"])
		reply := append([]byte{5}, bytesOf(t, row["response_pdu_hex"])...)
		registers, err := r.Parse(binary.LittleEndian.AppendUint16(reply, modbus.CRC(reply)))
		require.NoError(t, err, row["what"])
		assert.Equal(t, want, registers, row["what"])
	}
	assert.Equal(t, len(values), checked)
}

// C: float32 in two registers, both orders of words.
func TestWordOrder(t *testing.T) {
	words := func(text string) []uint16 {
		b := bytesOf(t, text)
		return []uint16{binary.BigEndian.Uint16(b), binary.BigEndian.Uint16(b[2:])}
	}
	checked := 0
	for _, row := range table(t, "word-order.csv") {
		if row["type"] != "float32" {
			continue
		}
		checked++
		want, err := strconv.ParseFloat(row["value"], 64)
		require.NoError(t, err)
		assert.Equal(t, want, modbus.Float32HighFirst.Decode(words(row["high_word_first_ABCD"])))
		assert.Equal(t, want, modbus.Float32LowFirst.Decode(words(row["low_word_first_CDAB"])))
	}
	assert.Equal(t, 8, checked)
}

// V: MODBUS Application Protocol V1.1b3, section 4.2 (high byte first), two's
// complement.
func TestInt16(t *testing.T) {
	for register, want := range map[uint16]float64{0: 0, 1: 1, 0x7FFF: 32767, 0x8000: -32768, 0xFFFF: -1} {
		assert.Equal(t, want, modbus.Int16.Decode([]uint16{register}))
	}
}

// V: MODBUS Application Protocol V1.1b3, section 7.
func TestExceptionsBearTheNamesOfTheSpecification(t *testing.T) {
	for _, row := range table(t, "exceptions.csv") {
		code, err := strconv.ParseUint(row["code_hex"], 16, 8)
		require.NoError(t, err)
		assert.ErrorContains(t, modbus.Exception(code), strings.ToLower(row["name"]))
	}
	assert.ErrorContains(t, modbus.Exception(9), "exception 9")
}

// V: the limits of the two specifications.
func TestLimitsOfTheSpecification(t *testing.T) {
	limits := map[string]string{}
	for _, row := range table(t, "limits.csv") {
		limits[row["name"]] = row["value"]
	}
	assert.Equal(t, limits["fc3_4_quantity_max"], strconv.Itoa(modbus.MaxRegisters))
	r := modbus.Request{Address: 1, Function: modbus.ReadHolding, Count: modbus.MaxRegisters}
	longest, err := strconv.Atoi(limits["rtu_frame_max"])
	require.NoError(t, err)
	assert.LessOrEqual(t, r.ReplyLength(), longest)
}
