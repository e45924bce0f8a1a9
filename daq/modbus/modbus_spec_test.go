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

// V and C: see the table. Every frame's check is right, and whoever plays
// master and slave writes and reads each as printed.
func TestFramesOfTheSpecification(t *testing.T) {
	requests := map[string][]byte{} // the last one by address and function
	seen := map[string]int{}
	for _, row := range table(t, "rtu-frames.csv") {
		frame := bytesOf(t, row["frame_hex"])
		n := len(frame) - 2
		require.Equal(t, binary.LittleEndian.Uint16(frame[n:]), modbus.CRC(frame[:n]), row["frame_hex"])
		key := strconv.Itoa(int(frame[0])) + "/" + row["function"]
		seen[row["kind"]]++
		switch row["kind"] {
		case "request":
			requests[key] = frame
			r, err := modbus.ParseRequest(frame)
			require.NoError(t, err)
			assert.NoError(t, r.Check())
			assert.Equal(t, frame, r.Frame())
			whole, rest := modbus.NextRequest(append([]byte{0}, frame...))
			assert.Equal(t, frame, whole)
			assert.Empty(t, rest)
		case "response":
			r, err := modbus.ParseRequest(requests[key])
			require.NoError(t, err)
			values, err := r.Parse(frame)
			require.NoError(t, err, row["frame_hex"])
			assert.Equal(t, frame, r.Reply(values))
			assert.Len(t, frame, r.ReplyLength())
		case "exception":
			request, ok := requests[key]
			if !ok {
				request = modbus.Request{Address: frame[0], Function: frame[1] &^ 0x80, Count: 1}.Frame()
			}
			r, err := modbus.ParseRequest(request)
			require.NoError(t, err)
			_, err = r.Parse(frame)
			var x modbus.Exception
			require.ErrorAs(t, err, &x)
			assert.ErrorContains(t, x, row["what"])
			assert.Equal(t, frame, r.Refusal(x))
		}
	}
	assert.Equal(t, map[string]int{"request": 12, "response": 11, "exception": 6}, seen)
}

// bit is the state of coils or inputs from the one with that number on, as the
// specification's tables print them, the highest first in each byte.
func TestCoilsOfTheSpecification(t *testing.T) {
	// V: MODBUS Application Protocol V1.1b3, section 6.1: coils 27–20 are CD,
	// 35–28 are 6B, 38–36 are 05 (the five high bits are filled with zeros).
	r := modbus.Request{Address: 17, Function: modbus.ReadCoils, Start: 19, Count: 19}
	values, err := r.Parse(bytesOf(t, "11 01 03 CD 6B 05 40 12"))
	require.NoError(t, err)
	assert.Equal(t, []uint16{1, 0, 1, 1, 0, 0, 1, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1}, values)
	assert.Equal(t, bytesOf(t, "11 01 03 CD 6B 05 40 12"), r.Reply(values))
}

// V: MODBUS Application Protocol V1.1b3: every example of a function that this
// master uses, as printed; the others are refused by the parser of replies.
func TestPDUsOfTheSpecification(t *testing.T) {
	values := map[string][]uint16{
		"6.1": {1, 0, 1, 1, 0, 0, 1, 1, 1, 1, 0, 1, 0, 1, 1, 0, 1, 0, 1},
		"6.2": {0, 0, 1, 1, 0, 1, 0, 1, 1, 1, 0, 1, 1, 0, 1, 1, 1, 0, 1, 0, 1, 1},
		"6.3": {555, 0, 100}, "6.4": {10},
		"6.5": nil, "6.6": nil, "6.11": nil, "6.12": nil, "7": nil,
	}
	written := map[string][]uint16{"6.5": {1}, "6.6": {3},
		"6.11": {1, 0, 1, 1, 0, 0, 1, 1, 1, 0}, "6.12": {10, 0x0102}}
	checked := 0
	for _, row := range table(t, "pdu.csv") {
		want, ok := values[row["section"]]
		if !ok {
			continue
		}
		checked++
		pdu := bytesOf(t, row["request_pdu_hex"])
		r := modbus.Request{Address: 5, Function: pdu[0], Start: binary.BigEndian.Uint16(pdu[1:]),
			Count: max(1, uint16(len(written[row["section"]]))), Values: written[row["section"]]}
		if !r.Writes() {
			r.Count = binary.BigEndian.Uint16(pdu[3:])
		}
		frame := r.Frame()
		assert.Equal(t, pdu, frame[1:len(frame)-2], row["what"])
		assert.Equal(t, pdu, r.Message(7)[7:], row["what"])
		heard, err := modbus.ParseRequest(frame)
		require.NoError(t, err)
		assert.Equal(t, r, heard, row["what"])

		pdu = bytesOf(t, row["response_pdu_hex"])
		reply := append([]byte{5}, pdu...)
		reply = binary.LittleEndian.AppendUint16(reply, modbus.CRC(reply))
		got, err := r.Parse(reply)
		if row["section"] == "7" {
			assert.Equal(t, modbus.IllegalAddress, err)
			assert.Equal(t, reply, r.Refusal(modbus.IllegalAddress))
			continue
		}
		require.NoError(t, err, row["what"])
		assert.Equal(t, want, got, row["what"])
		assert.Equal(t, reply, r.Reply(got), row["what"])
		assert.Equal(t, pdu, r.ReplyMessage(7, got)[7:], row["what"])
	}
	assert.Equal(t, len(values), checked)
}

// M: MODBUS Messaging on TCP/IP Implementation Guide V1.0b, section 4.4.2.1:
// the request to read one register from address 4 of unit FF, as transaction
// 1501 (hex).
func TestMessageOfTheGuide(t *testing.T) {
	want := bytesOf(t, "15 01 00 00 00 06 FF 03 00 04 00 01")
	r := modbus.Request{Address: modbus.NoUnit, Function: modbus.ReadHolding, Start: 4, Count: 1}
	assert.Equal(t, want, r.Message(0x1501))
	m, rest, err := modbus.NextMessage(append(want, 1, 2))
	require.NoError(t, err)
	assert.Equal(t, []byte{1, 2}, rest)
	assert.Equal(t, uint16(0x1501), m.Transaction)
	got, err := m.Request()
	require.NoError(t, err)
	assert.Equal(t, r, got)
}

// C: numbers in two registers in every order, both ways.
func TestWordOrder(t *testing.T) {
	types := map[string]modbus.Type{"float32": modbus.Float32, "int32": modbus.Int32, "uint32": modbus.Uint32}
	for _, row := range table(t, "word-order.csv") {
		kind, ok := types[row["type"]]
		require.True(t, ok, row["type"])
		want, err := strconv.ParseFloat(row["value"], 64)
		require.NoError(t, err)
		for column, f := range map[string]modbus.Format{
			"high_word_first_ABCD": {Type: kind},
			"low_word_first_CDAB":  {Type: kind, LowWordFirst: true},
			"byte_swapped_BADC":    {Type: kind, LowByteFirst: true},
			"little_endian_DCBA":   {Type: kind, LowWordFirst: true, LowByteFirst: true},
		} {
			b := bytesOf(t, row[column])
			words := []uint16{binary.BigEndian.Uint16(b), binary.BigEndian.Uint16(b[2:])}
			assert.Equal(t, want, f.Decode(words), column)
			assert.Equal(t, words, f.Encode(want), column)
		}
	}
}

// V: MODBUS Application Protocol V1.1b3, section 4.2 (high byte first), two's
// complement.
func TestInt16(t *testing.T) {
	for register, want := range map[uint16]float64{0: 0, 1: 1, 0x7FFF: 32767, 0x8000: -32768, 0xFFFF: -1} {
		assert.Equal(t, want, modbus.Format{Type: modbus.Int16}.Decode([]uint16{register}))
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
	for name, function := range map[string][]byte{
		"fc1_2_quantity_max": {modbus.ReadCoils, modbus.ReadDiscrete},
		"fc3_4_quantity_max": {modbus.ReadHolding, modbus.ReadInput},
		"fc15_quantity_max":  {modbus.WriteCoils},
		"fc16_quantity_max":  {modbus.WriteRegisters},
	} {
		most, err := strconv.Atoi(limits[name])
		require.NoError(t, err)
		for _, f := range function {
			request := func(n int) modbus.Request {
				r := modbus.Request{Address: 1, Function: f, Count: uint16(n)}
				if r.Writes() {
					r.Values = make([]uint16, n)
				}
				return r
			}
			assert.NoError(t, request(most).Check())
			assert.ErrorIs(t, request(most+1).Check(), modbus.ErrLimit)
			assert.ErrorIs(t, request(0).Check(), modbus.ErrLimit)
			longest, err := strconv.Atoi(limits["rtu_frame_max"])
			require.NoError(t, err)
			assert.LessOrEqual(t, request(most).ReplyLength(), longest)
			assert.LessOrEqual(t, len(request(most).Frame()), longest)
		}
	}
	on := modbus.Write(1, modbus.WriteCoil, 0, 1).Frame()
	assert.Equal(t, bytesOf(t, limits["fc5_on_value"]), on[4:6])
	off := modbus.Write(1, modbus.WriteCoil, 0, 0).Frame()
	assert.Equal(t, bytesOf(t, limits["fc5_off_value"]), off[4:6])
}
