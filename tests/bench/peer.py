"""The peer of the benchmark: twelve questions in a conversation handler with pickle persistence.

Written as the library's own documentation and its conversation example do it: one state a
question, an entry point, a fallback, `PicklePersistence`, nothing tuned. Eight questions take
text, four an inline button.

python -m tests.bench.peer FOLDER PLATFORM TOKEN
"""

import sys
from pathlib import Path
from typing import Any

from telegram import InlineKeyboardButton, InlineKeyboardMarkup, Update
from telegram.ext import (
    Application,
    CallbackQueryHandler,
    CommandHandler,
    ContextTypes,
    ConversationHandler,
    MessageHandler,
    PicklePersistence,
    filters,
)

QUESTIONS = 12
BUTTONS = frozenset({2, 5, 8, 11})
Context = ContextTypes.DEFAULT_TYPE


def question(number: int) -> tuple[str, InlineKeyboardMarkup | None]:
    keys = [[InlineKeyboardButton(word, callback_data=f"{number}:{word}")
             for word in ("yes", "no")]]  # fmt: skip
    return f"Question {number} of {QUESTIONS}?", (
        InlineKeyboardMarkup(keys) if number in BUTTONS else None
    )


async def ask(update: Update, number: int) -> int:
    assert update.effective_message is not None
    text, markup = question(number)
    await update.effective_message.reply_text(text, reply_markup=markup)
    return number


async def begin(update: Update, context: Context) -> int:
    assert context.user_data is not None
    context.user_data.clear()
    return await ask(update, 1)


async def answer(update: Update, context: Context, number: int, words: str) -> int:
    assert context.user_data is not None
    context.user_data[number] = words
    if number < QUESTIONS:
        return await ask(update, number + 1)
    assert update.effective_message is not None
    await update.effective_message.reply_text(f"Noted: {len(context.user_data)} answers.")
    return ConversationHandler.END


def state(number: int) -> list[Any]:
    async def text(update: Update, context: Context) -> int:
        assert update.message is not None
        return await answer(update, context, number, update.message.text or "")

    async def press(update: Update, context: Context) -> int:
        query = update.callback_query
        assert query is not None
        await query.answer()
        return await answer(update, context, number, query.data or "")

    if number in BUTTONS:
        return [CallbackQueryHandler(press, pattern=f"^{number}:")]
    return [MessageHandler(filters.TEXT & ~filters.COMMAND, text)]


async def dump(update: Update, context: Context) -> None:
    """Say which answers are held, for counting what a kill lost."""
    assert update.message is not None
    held = context.user_data or {}
    await update.message.reply_text("Held: " + "|".join(str(held[key]) for key in sorted(held)))


def main() -> None:
    folder, platform, token = sys.argv[1:]
    persistence = PicklePersistence(filepath=Path(folder) / "peer.pickle")
    builder = Application.builder().token(token).persistence(persistence)
    app = builder.base_url(f"{platform}/bot").base_file_url(f"{platform}/file/bot").build()
    app.add_handler(CommandHandler("dump", dump))
    app.add_handler(
        ConversationHandler(
            entry_points=[CommandHandler("begin", begin)],
            states={number: state(number) for number in range(1, QUESTIONS + 1)},
            fallbacks=[CommandHandler("begin", begin)],
            persistent=True,
            name="twelve",
            allow_reentry=True,
        )
    )
    app.run_polling()


if __name__ == "__main__":
    main()
