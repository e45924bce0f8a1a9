package modbus

import "fmt"

// Exception is the code by which a slave says that it will not answer.
type Exception byte

// The exceptions, [2] section 7.
const (
	IllegalFunction    Exception = 0x01
	IllegalAddress     Exception = 0x02
	IllegalValue       Exception = 0x03
	DeviceFailure      Exception = 0x04
	Acknowledge        Exception = 0x05
	DeviceBusy         Exception = 0x06
	MemoryParity       Exception = 0x08
	GatewayUnavailable Exception = 0x0A
	GatewayNoResponse  Exception = 0x0B
)

// exceptions as the specification names them.
var exceptions = map[Exception]string{
	IllegalFunction:    "illegal function",
	IllegalAddress:     "illegal data address",
	IllegalValue:       "illegal data value",
	DeviceFailure:      "server device failure",
	Acknowledge:        "acknowledge",
	DeviceBusy:         "server device busy",
	MemoryParity:       "memory parity error",
	GatewayUnavailable: "gateway path unavailable",
	GatewayNoResponse:  "gateway target device failed to respond",
}

// Error names the exception as the specification does.
func (x Exception) Error() string {
	name, ok := exceptions[x]
	if !ok {
		name = "not in the specification"
	}
	return fmt.Sprintf("exception %d, %s", byte(x), name)
}
