/* A Modbus RTU slave at address 17 on the terminal named, played by libmodbus.
 * What stands in its registers is written by libmodbus's own functions. It says
 * "ready" when it listens and ends when the terminal does. */
#include <errno.h>
#include <modbus.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The order of the bytes of set_float_abcd and its kin changed between versions
 * of libmodbus (3.1.6 writes the other end first); these did not. */
static void put_float(float value, uint16_t *registers, int low_first) {
    int32_t bits;
    memcpy(&bits, &value, sizeof bits);
    if (low_first)
        modbus_set_float(value, registers);
    else
        MODBUS_SET_INT32_TO_INT16(registers, 0, bits);
}

static void fill(uint16_t *registers) {
    double pi = 3.141592653589793;
    int64_t bits;
    int32_t below = -123456;
    uint32_t above = 3000000000u;
    memcpy(&bits, &pi, sizeof bits);
    put_float(123.456f, registers, 0);
    put_float(-40.25f, registers + 2, 1);
    registers[4] = (uint16_t)-1234;
    registers[6] = 40000;
    MODBUS_SET_INT32_TO_INT16(registers, 8, below);
    MODBUS_SET_INT32_TO_INT16(registers, 10, above);
    MODBUS_SET_INT64_TO_INT16(registers, 12, bits);
    registers[20] = 0xA5C3;
    registers[21] = 0x3412;
}

int main(int argc, char **argv) {
    uint8_t query[MODBUS_RTU_MAX_ADU_LENGTH];
    modbus_t *slave = argc == 2 ? modbus_new_rtu(argv[1], 115200, 'N', 8, 1) : NULL;
    modbus_mapping_t *map = modbus_mapping_new(24, 24, 125, 125);
    if (slave == NULL || map == NULL) return 2;
    modbus_set_slave(slave, 17);
    fill(map->tab_registers);
    fill(map->tab_input_registers);
    for (int i = 0; i < 24; i++) {
        map->tab_bits[i] = i % 3 == 0;
        map->tab_input_bits[i] = i % 5 == 1;
    }
    if (modbus_connect(slave) == -1) {
        fprintf(stderr, "%s: %s\n", argv[1], modbus_strerror(errno));
        return 1;
    }
    puts("ready");
    fflush(stdout);
    for (;;) {
        int length = modbus_receive(slave, query);
        if (length > 0)
            modbus_reply(slave, query, length, map);
        else if (length == -1 && (errno == EIO || errno == EBADF || errno == ECONNRESET))
            return 0;
    }
}
