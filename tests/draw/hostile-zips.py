"""Zip files that shouldn't be read, made with Python's zipfile, one a case: FOLDER/<case>.zip. Prints nothing."""
import io
import struct
import sys
import warnings
import zipfile

folder = sys.argv[1]
warnings.simplefilter('ignore')  # zipfile warns of names twice


def write(case, data):
    with open(f'{folder}/{case}.zip', 'wb') as file:
        file.write(data)


def make(*members, method=zipfile.ZIP_DEFLATED):
    out = io.BytesIO()
    with zipfile.ZipFile(out, 'w', method) as archive:
        for name, data in members:
            info = zipfile.ZipInfo(name, (2026, 3, 9, 8, 0, 0)) if isinstance(name, str) else name
            info.compress_type = method
            archive.writestr(info, data)
    return out.getvalue()


def info_of(name, mode):
    info = zipfile.ZipInfo(name, (2026, 3, 9, 8, 0, 0))
    info.create_system = 3
    info.external_attr = mode << 16
    return info


plain = make(('a.txt', b'one'), ('b.txt', b'two' * 100))
write('good', plain)
write('up', make(('../a.txt', b'one')))
write('up-within', make(('x/../../a.txt', b'one')))
write('absolute', make(('/etc/a.txt', b'one')))
write('drive', make(('C:a.txt', b'one')))
write('backslash', make(('x\\a.txt', b'one')).replace(b'x/a.txt', b'x\\a.txt'))
write('link', make((info_of('a.txt', 0o120777), b'/etc/passwd')))
write('device', make((info_of('a.txt', 0o020666), b'')))
write('folder', make(('x/', b'')))
write('hidden-name', make(('.a', b'one')))
write('twice', make(('a.txt', b'one'), ('a.txt', b'two')))
write('twice-case', make(('a.txt', b'one'), ('A.TXT', b'two')))
write('bad-utf8', make(('aXY.txt', b'one')).replace(b'aXY.txt', b'a\xff\xfe.txt'))
write('not-ascii', make(('ä.txt', b'one')))
write('control', make(('aQb.txt', b'one')).replace(b'aQb.txt', b'a\nb.txt'))
write('nested', make(('a.dat', make(('b.txt', b'one')))))
write('bzip2', make(('a.txt', b'one' * 1000), method=zipfile.ZIP_BZIP2))
write('lzma', make(('a.txt', b'one' * 1000), method=zipfile.ZIP_LZMA))

# 65 MiB of nothing in 65 kB; and the same with a size that is stated too small
bomb = make(('a.bin', bytes(65 << 20)))
write('bomb', bomb)
lying = bytearray(bomb)
at = lying.rindex(b'PK\1\2')
for place in (22, at + 24):
    struct.pack_into('<I', lying, place, 1000)
write('bomb-lying', bytes(lying))
write('many', make(*[(f'a{i}', b'') for i in range(2001)]))

# encrypted: the flag in both headers
locked = bytearray(plain)
for place in (6, locked.index(b'PK\1\2') + 8):
    locked[place] |= 1
write('encrypted', bytes(locked))

# the directory against the headers beside the data
directory = plain.index(b'PK\1\2')
other = bytearray(plain)
other[30:35] = b'c.txt'
write('two-names', bytes(other))
other = bytearray(plain)
struct.pack_into('<I', other, 14, 12345)
write('two-crcs', bytes(other))
other = bytearray(plain)
for place in (14, directory + 16):
    struct.pack_into('<I', other, place, 12345)
write('wrong-crc', bytes(other))
other = bytearray(plain)
for place in (22, directory + 24):
    struct.pack_into('<I', other, place, 4)
write('wrong-size', bytes(other))
write('trailing', plain + b'more')
end = plain.rindex(b'PK\5\6')
write('comment', plain[:end + 20] + b'\4\0more')
moved = bytearray(b'PK\3\4junk' + plain)  # members don't begin where the file does
write('leading', bytes(moved))
# a member in the file that the directory doesn't name
one, two = make(('a.txt', b'one')), make(('b.txt', b'two'))
first = two[:two.index(b'PK\1\2')]
rest = one[one.index(b'PK\1\2'):]
hidden = bytearray(one[:one.index(b'PK\1\2')] + first + rest)
at = hidden.rindex(b'PK\5\6')
struct.pack_into('<I', hidden, at + 16, len(one[:one.index(b'PK\1\2')] + first))
write('hidden-member', bytes(hidden))
# two entries in the directory for the same bytes
entry = one[one.index(b'PK\1\2'):one.rindex(b'PK\5\6')].replace(b'a.txt', b'z.txt')
head = one[:one.index(b'PK\1\2')]
both = head + one[len(head):one.rindex(b'PK\5\6')] + entry
write('overlap', both + struct.pack('<4s4H2IH', b'PK\5\6', 0, 0, 2, 2, len(both) - len(head), len(head), 0))
write('empty', make())
write('zip64', plain[:end] + struct.pack('<4s4H2IH', b'PK\5\6', 0, 0, 0xffff, 0xffff, 0xffffffff, 0xffffffff, 0))
for i, share in enumerate((0.2, 0.5, 0.9, 0.99)):
    write(f'cut-{i}', plain[:int(len(plain) * share)])
