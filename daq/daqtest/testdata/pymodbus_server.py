"""A Modbus slave played by pymodbus: on the terminal named, at address 17, or
for "tcp" on a free port of the loopback, which it prints. What stands in its
registers is written by pymodbus's own payload builder."""

import asyncio
import sys

from pymodbus.constants import Endian
from pymodbus.datastore import ModbusSequentialDataBlock, ModbusServerContext, ModbusSlaveContext
from pymodbus.payload import BinaryPayloadBuilder
from pymodbus.server.async_io import ModbusSerialServer, ModbusTcpServer
from pymodbus.transaction import ModbusRtuFramer, ModbusSocketFramer

big, little = Endian.Big, Endian.Little


def put(registers, at, add, byteorder=big, wordorder=big):
    builder = BinaryPayloadBuilder(byteorder=byteorder, wordorder=wordorder)
    add(builder)
    words = builder.to_registers()
    registers[at : at + len(words)] = words


def block():
    registers = [0] * 125
    put(registers, 0, lambda b: b.add_32bit_float(123.456))
    put(registers, 2, lambda b: b.add_32bit_float(-40.25), wordorder=little)
    put(registers, 4, lambda b: b.add_16bit_int(-1234))
    put(registers, 6, lambda b: b.add_16bit_uint(40000))
    put(registers, 8, lambda b: b.add_32bit_int(-123456))
    put(registers, 10, lambda b: b.add_32bit_uint(3000000000))
    put(registers, 12, lambda b: b.add_64bit_float(3.141592653589793))
    put(registers, 20, lambda b: b.add_16bit_uint(0xA5C3))
    put(registers, 21, lambda b: b.add_16bit_uint(0x1234), byteorder=little)
    return ModbusSequentialDataBlock(0, registers)


def context():
    slave = ModbusSlaveContext(
        di=ModbusSequentialDataBlock(0, [i % 5 == 1 for i in range(24)]),
        co=ModbusSequentialDataBlock(0, [i % 3 == 0 for i in range(24)]),
        hr=block(),
        ir=block(),
        zero_mode=True,
    )
    return ModbusServerContext(slaves={17: slave}, single=False)


async def main(where):
    if where == "tcp":
        server = ModbusTcpServer(context(), framer=ModbusSocketFramer, address=("127.0.0.1", 0), defer_start=True)
        serving = asyncio.create_task(server.serve_forever())
        while server.server is None:
            await asyncio.sleep(0.01)
        print("ready", server.server.sockets[0].getsockname()[1], flush=True)
        await serving
    else:
        server = ModbusSerialServer(context(), framer=ModbusRtuFramer, port=where, baudrate=115200, timeout=1)
        await server.start()
        print("ready", flush=True)
        await server.serve_forever()


asyncio.run(main(sys.argv[1]))
