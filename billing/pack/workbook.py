"""The pack's workbook: one sheet for each table, with sums and calculated cells as formulas."""

from io import BytesIO

from billing.pack.tables import AMOUNT, DAY, DISTANCE, NUMBER, RATE, TEXT, Cell, Formula, Table
from practice.lib.money import minor_digits


def workbook(tables: list[Table], currency: str, words: str) -> bytes:
    """Return the workbook as XLSX. `words` stand under the first table.

    Text stays text, also where it begins with `=`: only formulas of ours are worked out.
    """
    from openpyxl import Workbook
    from openpyxl.cell import WriteOnlyCell
    from openpyxl.styles import Font
    from openpyxl.utils import get_column_letter

    digits = minor_digits(currency)
    formats = {
        DAY: "yyyy-mm-dd",
        AMOUNT: "#,##0" + ("." + "0" * digits if digits else ""),
        NUMBER: "#,##0.######",
        DISTANCE: "#,##0.0",
        RATE: "0.######",
        TEXT: "@",
    }
    bold = Font(bold=True)
    book = Workbook(write_only=True)
    for position, table in enumerate(tables):
        sheet = book.create_sheet(table.name)
        sheet.freeze_panes = "A2"
        for number, column in enumerate(table.columns, start=1):
            letter = get_column_letter(number)
            sheet.column_dimensions[letter].width = 34 if number == 1 and column.kind == TEXT else 16

        def cell(value: Cell, kind: str, row: int, font=None, sheet=sheet):
            if isinstance(value, Formula):
                made = WriteOnlyCell(sheet, value="=" + value.text.replace("{row}", str(row)))
            else:
                made = WriteOnlyCell(sheet, value=value)
                if isinstance(value, str):
                    made.data_type = "s"
            made.number_format = formats[kind]
            if font:
                made.font = font
            return made

        sheet.append([cell(column.name, TEXT, 1, bold) for column in table.columns])
        for row, values in enumerate(table.rows, start=2):
            sheet.append(
                [cell(value, column.kind, row) for value, column in zip(values, table.columns, strict=True)]
            )
        if any(column.summed for column in table.columns):
            sheet.append([])
            row = len(table.rows) + 3
            sums = [
                cell(Formula(f"SUM({letter}2:{letter}{row - 1})", 0), column.kind, row, bold)
                if column.summed
                else cell("total" if number == 1 else None, TEXT, row, bold)
                for number, column in enumerate(table.columns, start=1)
                for letter in [get_column_letter(number)]
            ]
            sheet.append(sums)
        if position == 0:
            for line in ("", *words.splitlines()):
                sheet.append([cell(line, TEXT, 0)])
    out = BytesIO()
    book.save(out)
    return out.getvalue()
