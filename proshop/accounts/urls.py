from django.contrib.auth.decorators import login_not_required
from django.urls import path

from proshop.accounts import people, second_views, views

urlpatterns = [
    path("sign-in/forgotten/", login_not_required(views.Forgotten.as_view()), name="forgotten"),
    path("sign-in/forgotten/sent/", login_not_required(views.sent), name="forgotten-sent"),
    path(
        "choose-password/<uidb64>/<token>/",
        login_not_required(views.Choose.as_view()),
        name="choose-password",
    ),
    path("sign-in/chosen/", login_not_required(views.chosen), name="password-chosen"),
    path("account/", views.account, name="account"),
    path("account/password/", views.change_password, name="change-password"),
    path("sign-in/code/", second_views.code, name="sign-in-code"),
    path("account/second/", second_views.second_factor, name="second-factor"),
    path("account/second/codes/", second_views.second_codes, name="second-codes"),
    path("account/second/end/", second_views.second_end, name="second-end"),
    path("people/<int:pk>/second/end/", second_views.person_second_end, name="person-second-end"),
    path("shops/", people.shops, name="shops"),
    path("people/", people.people, name="people"),
    path("people/<int:pk>/", people.person, name="person"),
    path("people/<int:pk>/link/", people.person_link, name="person-link"),
    path("people/<int:pk>/end/", people.person_end, name="person-end"),
]
